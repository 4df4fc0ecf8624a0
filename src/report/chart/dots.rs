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

const TOP: f64 = 4.0;
/// Letters of a name that fit the width above its dot, and beside it.
const LETTERS: usize = 54;
const LETTERS_BESIDE: usize = 15;

/// Where names stand: above their dots, or beside them if all are short.
#[derive(Clone, Copy)]
struct Rows {
    height: f64,
    /// Left end of the scale.
    left: f64,
    /// Within a row: the name's foot, the dot's height, and how far the grid reaches.
    name: f64,
    dot: f64,
    grid: (f64, f64),
}

impl Rows {
    fn of(list: &[Dot]) -> Rows {
        let beside = list.iter().all(|d| d.name.chars().count() <= LETTERS_BESIDE);
        if beside {
            Rows { height: 22.0, left: 112.0, name: 15.0, dot: 11.0, grid: (0.0, 22.0) }
        } else {
            // No line of the grid runs through a name.
            Rows { height: 38.0, left: 12.0, name: 13.0, dot: 25.0, grid: (17.0, 33.0) }
        }
    }
}

/// The least and the greatest of what dots and their lines reach, and of zero.
pub fn reach<'d>(list: impl IntoIterator<Item = &'d Dot>) -> (f64, f64) {
    list.into_iter()
        .flat_map(|d| [Some(d.mean), d.interval.map(|i| i.0), d.interval.map(|i| i.1)])
        .flatten()
        .fold((0.0, 0.0), |(lo, hi), x| (f64::min(lo, x), f64::max(hi, x)))
}

/// The chart; `unit` names the horizontal axis.
pub fn dots(alternative: &str, unit: &str, list: &[Dot]) -> Markup {
    dots_on(alternative, unit, list, reach(list))
}

/// The same on a scale that reaches as far as this, so that several charts can be held against each other.
pub fn dots_on(alternative: &str, unit: &str, list: &[Dot], (lo, hi): (f64, f64)) -> Markup {
    let pad = ((hi - lo) * 0.05).max(1e-9);
    let rows = Rows::of(list);
    let top_of = |i: usize| TOP + rows.height * i as f64;
    let bottom = top_of(list.len());
    // All alike: zero stands in the middle.
    let (lo, hi) = if hi > lo { (lo - pad, hi + pad) } else { (-1.0, 1.0) };
    let x = Scale::new(lo, hi, rows.left, WIDTH - 12.0);
    let marks = x.ticks(6);
    let digits = decimals(&marks);
    let drawing = html! {
        g class="ax" {
            @for v in &marks {
                @let at = coordinate(x.at(*v));
                @for i in 0..list.len() {
                    @let (from, to) = (coordinate(top_of(i) + rows.grid.0), coordinate(top_of(i) + rows.grid.1));
                    line class=(if *v == 0.0 { "base" } else { "grid" }) x1=(at) x2=(at) y1=(from) y2=(to) {}
                }
                text x=(at) y=(coordinate(bottom + 16.0)) text-anchor="middle" { (number::fixed(*v, digits).replace('-', "−")) }
            }
            text x=(coordinate(WIDTH - 8.0)) y=(coordinate(bottom + 34.0)) text-anchor="end" { (unit) }
        }
        @for (i, d) in list.iter().enumerate() {
            @let top = top_of(i);
            @let y = coordinate(top + rows.dot);
            text class="lab" x="2" y=(coordinate(top + rows.name)) { (short(&d.name)) }
            @if let Some((low, high)) = d.interval {
                path class="line" d=(format!("M{} {y}H{}", coordinate(x.at(low)), coordinate(x.at(high)))) {}
            }
            circle class="bar" cx=(coordinate(x.at(d.mean))) cy=(y) r="4" {}
        }
    };
    let hits: Vec<Hit> = list
        .iter()
        .enumerate()
        .map(|(i, d)| Hit { x: 0.0, y: top_of(i), w: WIDTH, h: rows.height, text: d.text.clone() })
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
