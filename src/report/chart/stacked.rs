//! Stacked columns.

use super::plot::{Plot, coordinate};
use maud::{Markup, html};

/// One column at `x`, its parts from the base upward: class of the style sheet and height.
pub fn stack(plot: &Plot, x: f64, share: f64, parts: &[(&str, f64)]) -> Markup {
    let half = (plot.x.at(plot.x.lo + 1.0) - plot.left) * share / 2.0;
    let mut below = 0.0;
    let rects: Vec<(&str, f64, f64)> = parts
        .iter()
        .map(|(class, height)| {
            let low = plot.y.at(below);
            below += height;
            (*class, plot.y.at(below), low)
        })
        .collect();
    html! {
        @for (class, top, low) in rects {
            rect class={ "part " (class) } x=(coordinate(plot.x.at(x) - half)) y=(coordinate(top)) width=(coordinate(2.0 * half))
                height=(coordinate(low - top)) {}
        }
    }
}
