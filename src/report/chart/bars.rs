//! Bars with a spread, and histograms.

use super::plot::{Plot, coordinate};
use maud::{Markup, html};

/// A bar to a mean, with a line from P10 to P90 over it.
#[derive(Clone, Copy, Debug)]
pub struct Bar {
    /// Middle of the bar.
    pub x: f64,
    /// Its height.
    pub mean: f64,
    /// Lower and upper end of the line.
    pub spread: Option<(f64, f64)>,
}

/// Bars of a class of the style sheet, `share` of the way to the next one wide.
pub fn bars(plot: &Plot, class: &str, list: &[Bar], share: f64) -> Markup {
    let half = (plot.x.at(plot.x.lo + 1.0) - plot.left) * share / 2.0;
    html! {
        @for b in list {
            @let (x, y) = (plot.x.at(b.x), plot.y.at(b.mean));
            rect class=(class) x=(coordinate(x - half)) y=(coordinate(y)) width=(coordinate(2.0 * half)) height=(coordinate(plot.bottom - y)) {}
            @if let Some((lo, hi)) = b.spread {
                @let (top, low) = (coordinate(plot.y.at(hi)), coordinate(plot.y.at(lo)));
                path class="spread" d=(format!(
                    "M{x} {low}V{top}M{l} {top}H{r}M{l} {low}H{r}",
                    x = coordinate(x), l = coordinate(x - 4.0), r = coordinate(x + 4.0))) {}
            }
        }
    }
}

/// Columns that touch, each `step` of the horizontal scale wide, from its start.
pub fn histogram(plot: &Plot, step: f64, heights: &[f64]) -> Markup {
    html! {
        @for (i, h) in heights.iter().enumerate() {
            @if *h > 0.0 {
                @let from = plot.x.at(plot.x.lo + i as f64 * step);
                @let to = plot.x.at(plot.x.lo + (i as f64 + 1.0) * step);
                @let y = plot.y.at(*h);
                rect class="bar" x=(coordinate(from + 0.4)) y=(coordinate(y)) width=(coordinate((to - from - 0.8).max(0.5)))
                    height=(coordinate((plot.bottom - y).max(0.5))) {}
            }
        }
    }
}
