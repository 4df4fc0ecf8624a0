//! The frame of a chart: axes, and the drawing with its names and the places one points at.

use super::scale::{Scale, decimals};
use crate::report::number;
use maud::{Markup, html};

/// Width of every chart, drawing units.
pub const WIDTH: f64 = 400.0;

/// A place one can point at or step to by keyboard, and what is said there.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
    /// Values there, in words.
    pub text: String,
}

/// A frame with a horizontal and a vertical scale.
#[derive(Clone, Copy, Debug)]
pub struct Plot {
    /// Left edge of the frame.
    pub left: f64,
    /// Right edge.
    pub right: f64,
    /// Upper edge.
    pub top: f64,
    /// Lower edge.
    pub bottom: f64,
    /// Horizontal scale.
    pub x: Scale,
    /// Vertical scale; upward.
    pub y: Scale,
}

impl Plot {
    /// A frame with room for the vertical axis' numbers at the left, its unit above and the
    /// horizontal axis below, in a drawing `height` high.
    pub(crate) fn new(height: f64, x: (f64, f64), y: (f64, f64)) -> Self {
        Self::within(22.0, height - 38.0, x, y)
    }

    /// A frame between two heights.
    pub(crate) fn within(top: f64, bottom: f64, x: (f64, f64), y: (f64, f64)) -> Self {
        let (left, right) = (36.0, WIDTH - 8.0);
        let (x, y) = (Scale::new(x.0, x.1, left, right), Scale::new(y.0, y.1, bottom, top));
        Plot { left, right, top, bottom, x, y }
    }

    /// Hairlines and numbers of the vertical axis; its name and unit stand above it.
    pub(crate) fn y_axis(&self, name: &str, ticks: usize) -> Markup {
        let values = self.y.ticks(ticks);
        let digits = decimals(&values);
        let per_cent = name.ends_with('%');
        html! {
            g class="ax" {
                @for v in &values {
                    @let y = coordinate(self.y.at(*v));
                    line class=(if *v == 0.0 { "base" } else { "grid" }) x1=(coordinate(self.left)) x2=(coordinate(self.right)) y1=(y) y2=(y) {}
                    text x=(coordinate(self.left - 6.0)) y=(coordinate(self.y.at(*v) + 4.0)) text-anchor="end" {
                        (if per_cent { number::fixed(*v * 100.0, 0) } else { number::fixed(*v, digits) })
                    }
                }
                text x="2" y=(coordinate(self.top - 10.0)) { (name) }
            }
        }
    }

    /// Marks and labels of the horizontal axis at given places.
    pub(crate) fn x_axis<'a>(&self, name: &str, labels: impl IntoIterator<Item = (f64, &'a str)>) -> Markup {
        html! {
            g class="ax" {
                @for (v, label) in labels {
                    @let x = coordinate(self.x.at(v));
                    line class="tick" x1=(x) x2=(x) y1=(coordinate(self.bottom)) y2=(coordinate(self.bottom + 4.0)) {}
                    text x=(x) y=(coordinate(self.bottom + 16.0)) text-anchor="middle" { (label) }
                }
                text x=(coordinate(self.right)) y=(coordinate(self.bottom + 32.0)) text-anchor="end" { (name) }
            }
        }
    }

    /// Marks of the horizontal axis at round values.
    pub(crate) fn x_numbers(&self, name: &str, ticks: usize, write: impl Fn(f64, usize) -> String) -> Markup {
        let values = self.x.ticks(ticks);
        let digits = decimals(&values);
        let labels: Vec<(f64, String)> = values.iter().map(|v| (*v, write(*v, digits))).collect();
        self.x_axis(name, labels.iter().map(|(v, l)| (*v, l.as_str())))
    }

    /// A strip of the frame's full height to point at.
    pub(crate) fn strip(&self, from: f64, to: f64, text: String) -> Hit {
        let (x, end) = (self.x.at(from), self.x.at(to));
        Hit { x, y: self.top, w: end - x, h: self.bottom - self.top, text }
    }
}

/// A chart: the drawing under its text alternative, then the places one points at, which the page's
/// script makes one stop for the tab key, walked through by arrow keys.
pub fn svg(height: f64, alternative: &str, drawing: &Markup, hits: &[Hit]) -> Markup {
    html! {
        svg class="chart" viewBox=(format!("0 0 {WIDTH} {height}")) role="group" aria-label=(alternative) {
            g role="img" aria-label=(alternative) { (drawing) }
            @if !hits.is_empty() {
                g role="list" aria-label="values" {
                    @for h in hits {
                        rect class="hit" x=(coordinate(h.x)) y=(coordinate(h.y)) width=(coordinate(h.w)) height=(coordinate(h.h))
                            aria-label=(h.text) {}
                    }
                }
            }
        }
    }
}

/// A place in a drawing, to a tenth of a unit.
pub fn coordinate(x: f64) -> String {
    let s = number::fixed(x, 1);
    s.strip_suffix(".0").map(str::to_owned).unwrap_or(s)
}
