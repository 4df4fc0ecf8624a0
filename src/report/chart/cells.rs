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

/// The lines of one value.
pub struct Level<'a> {
    /// Class of the style sheet.
    pub class: &'a str,
    /// The value.
    pub label: String,
    /// Each line by its places, counted in cells from the middle of the first.
    pub lines: Vec<Vec<[f64; 2]>>,
}

/// A lattice, row by row from below, each from left to right.
pub struct Lattice<'a> {
    /// Cells in a row.
    pub columns: usize,
    /// Class of each cell (`t0` to `t4`); none: not painted.
    pub classes: Vec<Option<&'a str>>,
    /// One for each cell.
    pub marks: Vec<Mark>,
    /// The figure in each cell; empty where there is none. It is left out where cells are too small for the longest.
    pub figures: Vec<String>,
    /// Values of each cell in words.
    pub texts: Vec<String>,
    /// Lines of equal value.
    pub lines: Vec<Level<'a>>,
    /// Under the columns, and what they are.
    pub across: (Vec<String>, String),
    /// Beside the rows, and what they are.
    pub upward: (Vec<String>, String),
}

const LEFT: f64 = 50.0;
const RIGHT: f64 = WIDTH - 6.0;
const TOP: f64 = 24.0;
/// Width of a digit in a cell, about.
const FIGURE: f64 = 6.4;
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
    let figures = longest(&l.figures) * FIGURE + 4.0 <= wide && high >= 16.0;
    let drawing = html! {
        @for (k, class) in l.classes.iter().enumerate() {
            @if let Some(class) = class {
                rect class={ "cell " (class) } x=(coordinate(left_of(k))) y=(coordinate(top_of(k))) width=(coordinate(wide)) height=(coordinate(high)) {}
            }
        }
        @for Level { class, lines, .. } in &l.lines {
            @for points in lines.iter().filter(|p| !p.is_empty()) {
                path class={ "line iso " (class) } d=(smooth(points, &place)) {}
            }
        }
        @if figures {
            @for (k, (figure, class)) in l.figures.iter().zip(&l.classes).enumerate().filter(|(_, (f, _))| !f.is_empty()) {
                text class={ "fig " (class.unwrap_or("")) } x=(coordinate(left_of(k) + wide / 2.0)) y=(coordinate(top_of(k) + high / 2.0 + 4.0))
                    text-anchor="middle" { (figure) }
            }
        }
        @for Level { label, lines, .. } in &l.lines {
            @if let Some([x, y]) = lines.iter().max_by_key(|points| points.len()).and_then(|points| between_figures(points)) {
                text class="lab level" x=(coordinate(LEFT + (x + 0.5) * wide)) y=(coordinate(bottom - (y + 0.5) * high + 4.0)) text-anchor="middle" { (label) }
            }
        }
        @for (k, mark) in l.marks.iter().enumerate() { (draw(*mark, (left_of(k), top_of(k)), (wide, high), figures && !l.figures[k].is_empty())) }
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

/// A line through its points without corners: each piece starts and ends in the direction of its neighbours
/// (Catmull and Rom 1974, as cubic Bezier curves).
fn smooth(points: &[[f64; 2]], place: &dyn Fn([f64; 2]) -> String) -> String {
    let at = |i: isize| points[i.clamp(0, points.len() as isize - 1) as usize];
    let mut d = format!("M{}", place(points[0]));
    for i in 0..points.len() as isize - 1 {
        let (before, from, to, after) = (at(i - 1), at(i), at(i + 1), at(i + 2));
        let pull =
            |a: [f64; 2], b: [f64; 2], c: [f64; 2]| [a[0] + (c[0] - b[0]) / 6.0, a[1] + (c[1] - b[1]) / 6.0];
        d.push_str(&format!(
            "C{} {} {}",
            place(pull(from, before, to)),
            place(pull(to, after, from)),
            place(to)
        ));
    }
    d
}

/// Where a line is farthest from the figures, which stand in the middle of each cell.
fn between_figures(points: &[[f64; 2]]) -> Option<[f64; 2]> {
    let middles = points.windows(2).map(|w| [(w[0][0] + w[1][0]) / 2.0, (w[0][1] + w[1][1]) / 2.0]);
    let away = |p: &[f64; 2]| (p[0] - p[0].round()).abs() + 2.0 * (p[1] - p[1].round()).abs();
    middles.chain(points.iter().copied()).max_by(|a, b| away(a).total_cmp(&away(b)))
}

/// A mark in the middle of its cell, or in the corner where a figure stands in the middle.
fn draw(mark: Mark, (left, top): (f64, f64), (wide, high): (f64, f64), figure: bool) -> Markup {
    let (x, y) = match figure {
        true => (coordinate(left + wide - 6.0), coordinate(top + 6.0)),
        false => (coordinate(left + wide / 2.0), coordinate(top + high / 2.0)),
    };
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
