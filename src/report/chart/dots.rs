//! Means as dots on the lines of their intervals, one row each, about a line at zero.

use super::plot::{Hit, WIDTH, coordinate, svg};
use super::scale::{Scale, decimals};
use crate::report::number;
use maud::{Markup, html};

/// A dot and its interval.
#[derive(Clone, Debug)]
pub struct Dot {
    /// Stands above it.
    pub name: String,
    /// Where the dot is.
    pub mean: f64,
    /// Ends of the line.
    pub interval: Option<(f64, f64)>,
    /// Values, in words.
    pub text: String,
}

const ROW: f64 = 38.0;
const TOP: f64 = 4.0;
/// Letters of a name that fit the width.
const LETTERS: usize = 54;

/// The chart; `unit` names the horizontal axis.
pub fn dots(alternative: &str, unit: &str, list: &[Dot]) -> Markup {
    let ends = || {
        list.iter().flat_map(|d| [Some(d.mean), d.interval.map(|i| i.0), d.interval.map(|i| i.1)]).flatten()
    };
    let (lo, hi) = (ends().fold(0.0, f64::min), ends().fold(0.0, f64::max));
    let pad = ((hi - lo) * 0.05).max(1e-9);
    let bottom = TOP + ROW * list.len() as f64;
    // All alike: zero stands in the middle.
    let (lo, hi) = if hi > lo { (lo - pad, hi + pad) } else { (-1.0, 1.0) };
    let x = Scale::new(lo, hi, 12.0, WIDTH - 12.0);
    let marks = x.ticks(6);
    let digits = decimals(&marks);
    let drawing = html! {
        g class="ax" {
            @for v in &marks {
                @let at = coordinate(x.at(*v));
                line class=(if *v == 0.0 { "base" } else { "grid" }) x1=(at) x2=(at) y1=(coordinate(TOP)) y2=(coordinate(bottom)) {}
                text x=(at) y=(coordinate(bottom + 16.0)) text-anchor="middle" { (number::fixed(*v, digits).replace('-', "−")) }
            }
            text x=(coordinate(WIDTH - 8.0)) y=(coordinate(bottom + 34.0)) text-anchor="end" { (unit) }
        }
        @for (i, d) in list.iter().enumerate() {
            @let top = TOP + ROW * i as f64;
            @let y = coordinate(top + 24.0);
            text class="lab" x="2" y=(coordinate(top + 13.0)) { (short(&d.name)) }
            @if let Some((low, high)) = d.interval {
                path class="line" d=(format!("M{} {y}H{}", coordinate(x.at(low)), coordinate(x.at(high)))) {}
            }
            circle class="bar" cx=(coordinate(x.at(d.mean))) cy=(y) r="4" {}
        }
    };
    let hits: Vec<Hit> = list
        .iter()
        .enumerate()
        .map(|(i, d)| Hit { x: 0.0, y: TOP + ROW * i as f64, w: WIDTH, h: ROW, text: d.text.clone() })
        .collect();
    svg(bottom + 40.0, alternative, &drawing, &hits)
}

fn short(name: &str) -> String {
    if name.chars().count() <= LETTERS {
        return name.to_owned();
    }
    let kept: String = name.chars().take(LETTERS - 1).collect();
    format!("{}…", kept.trim_end())
}
