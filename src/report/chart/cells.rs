//! A lattice of cells by band, with lines over it and marks in it.

use super::plot::{Hit, WIDTH, coordinate};
use maud::{Markup, html};

/// What stands in a cell, beside its band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Nothing.
    None,
    /// A dot.
    Dot,
    /// A ring.
    Ring,
    /// A dot in a frame.
    Framed,
    /// A cross: there is nothing to show.
    Cross,
}

/// A lattice, row by row from below, each from left to right.
pub struct Lattice<'a> {
    /// Cells in a row.
    pub columns: usize,
    /// Class of each cell (`t0` to `t4`); none: not painted.
    pub classes: Vec<Option<&'a str>>,
    /// One for each cell.
    pub marks: Vec<Mark>,
    /// Values of each cell in words.
    pub texts: Vec<String>,
    /// Class, and lines of places counted in cells from the middle of the first.
    pub lines: Vec<(&'a str, Vec<Vec<[f64; 2]>>)>,
    /// Under the columns, and what they are.
    pub across: (Vec<String>, String),
    /// Beside the rows, and what they are.
    pub upward: (Vec<String>, String),
}

const LEFT: f64 = 50.0;
const RIGHT: f64 = WIDTH - 6.0;
const TOP: f64 = 24.0;
/// Width of a letter of a label, about.
const LETTER: f64 = 7.0;

/// The chart; its cells are walked through by arrow keys in both directions.
pub fn cells(alternative: &str, l: &Lattice<'_>) -> Markup {
    let rows = l.classes.len().checked_div(l.columns).unwrap_or(0).max(1);
    let wide = (RIGHT - LEFT) / l.columns.max(1) as f64;
    let high = wide.min(340.0 / rows as f64).max(14.0);
    let bottom = TOP + high * rows as f64;
    let left_of = |k: usize| LEFT + (k % l.columns) as f64 * wide;
    let top_of = |k: usize| bottom - (k / l.columns + 1) as f64 * high;
    let place = |[x, y]: [f64; 2]| {
        format!("{} {}", coordinate(LEFT + (x + 0.5) * wide), coordinate(bottom - (y + 0.5) * high))
    };
    let longest = |labels: &[String]| labels.iter().map(|s| s.chars().count()).max().unwrap_or(1) as f64;
    let every = ((longest(&l.across.0) * LETTER + 6.0) / wide).ceil().max(1.0) as usize;
    let drawing = html! {
        @for (k, class) in l.classes.iter().enumerate() {
            @if let Some(class) = class {
                rect class={ "cell " (class) } x=(coordinate(left_of(k))) y=(coordinate(top_of(k))) width=(coordinate(wide)) height=(coordinate(high)) {}
            }
        }
        @for (class, lines) in &l.lines {
            @for points in lines.iter().filter(|p| !p.is_empty()) {
                path class={ "line iso " (class) } d={ "M" (points.iter().map(|p| place(*p)).collect::<Vec<_>>().join("L")) } {}
            }
        }
        @for (k, mark) in l.marks.iter().enumerate() { (draw(*mark, left_of(k), top_of(k), wide, high)) }
        g class="ax" {
            @for (x, label) in l.across.0.iter().enumerate().step_by(every) {
                text x=(coordinate(LEFT + (x as f64 + 0.5) * wide)) y=(coordinate(bottom + 15.0)) text-anchor="middle" { (label) }
            }
            text x=(coordinate(RIGHT)) y=(coordinate(bottom + 32.0)) text-anchor="end" { (l.across.1) }
            @for (y, label) in l.upward.0.iter().enumerate() {
                text x=(coordinate(LEFT - 6.0)) y=(coordinate(bottom - (y as f64 + 0.5) * high + 4.0)) text-anchor="end" { (label) }
            }
            text x="2" y=(coordinate(TOP - 10.0)) { (l.upward.1) }
        }
    };
    let hits: Vec<Hit> = l
        .texts
        .iter()
        .enumerate()
        .map(|(k, text)| Hit { x: left_of(k), y: top_of(k), w: wide, h: high, text: text.clone() })
        .collect();
    let height = coordinate(bottom + 38.0);
    html! {
        svg class="chart" viewBox=(format!("0 0 {WIDTH} {height}")) role="group" aria-label=(alternative) {
            g role="img" aria-label=(alternative) { (drawing) }
            g role="list" aria-label="values" data-columns=(l.columns) {
                @for h in &hits {
                    rect class="hit" x=(coordinate(h.x)) y=(coordinate(h.y)) width=(coordinate(h.w)) height=(coordinate(h.h))
                        aria-label=(h.text) {}
                }
            }
        }
    }
}

fn draw(mark: Mark, left: f64, top: f64, wide: f64, high: f64) -> Markup {
    let (x, y) = (coordinate(left + wide / 2.0), coordinate(top + high / 2.0));
    let inner = 3.0;
    html! {
        @if mark == Mark::Framed {
            rect class="frame" x=(coordinate(left + 1.5)) y=(coordinate(top + 1.5)) width=(coordinate(wide - inner)) height=(coordinate(high - inner)) {}
        }
        @if matches!(mark, Mark::Dot | Mark::Framed) { circle class="dot" cx=(x) cy=(y) r="2.6" {} }
        @if mark == Mark::Ring { circle class="ring" cx=(x) cy=(y) r="2.6" {} }
        @if mark == Mark::Cross {
            path class="grid" d=(format!("M{} {}l{} {}m0 {}l{} {}",
                coordinate(left + inner), coordinate(top + inner), coordinate(wide - 2.0 * inner), coordinate(high - 2.0 * inner),
                coordinate(2.0 * inner - high), coordinate(2.0 * inner - wide), coordinate(high - 2.0 * inner))) {}
        }
    }
}
