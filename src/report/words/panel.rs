//! What lay on the panel, in words.

use crate::plant::OnPanel;
use crate::report::number;
use crate::tally::summary::Estimate;
use crate::tally::surface::{PanelSurface, Within};

/// A figure of the panel's surface as every other.
pub(crate) fn surface_figure(w: Within) -> Estimate {
    Estimate { mean: w.mean, se: None, interval_95: w.interval_95 }
}

/// Light that dirt and snow took, and days with leaves or droppings, in one sentence.
pub(crate) fn panel_surface(s: &PanelSurface, pm: &str) -> String {
    let takes = |what: &str, share: Within| {
        (share.mean > 0.0).then(|| {
            format!("{what} takes {} of the light", number::percent_estimate(surface_figure(share), pm))
        })
    };
    let litter = (s.littered_days.mean > 0.0).then(|| {
        let days =
            number::estimate(surface_figure(s.littered_days), usize::from(s.littered_days.mean < 10.0), pm);
        format!("leaves or droppings lie on it on {days} days of the season")
    });
    let parts = [takes("dirt", s.dirt_share), takes("snow", s.snow_share), litter];
    format!("{}.", parts.into_iter().flatten().collect::<Vec<_>>().join("; "))
}

/// What lies on the panel on one day, in one sentence.
pub(crate) fn on_panel(lies: &OnPanel) -> String {
    let dirt = (lies.dirt_share > 0.0)
        .then(|| format!("dirt takes {} of its light", number::percent(lies.dirt_share)));
    let cells = if lies.covered_cells == 1.0 { "cell loses" } else { "cells lose" };
    let cover = (lies.covered_cells > 0.0).then(|| {
        format!("{} {cells} {} of the light", lies.covered_cells, number::percent(lies.covered_share))
    });
    format!("On the panel: {}.", dirt.into_iter().chain(cover).collect::<Vec<_>>().join("; "))
}
