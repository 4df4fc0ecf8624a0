//! Lines and bands.

use super::plot::{Plot, coordinate};
use maud::{Markup, html};

/// A line: class of the style sheet, and points; a point without value breaks it.
#[derive(Clone, Debug)]
pub struct Line<'a> {
    /// Class of the style sheet.
    pub class: &'a str,
    /// Places and values.
    pub points: Vec<(f64, Option<f64>)>,
}

/// A band between two values.
#[derive(Clone, Debug)]
pub struct Band<'a> {
    /// Class of the style sheet.
    pub class: &'a str,
    /// Place, lower and upper value.
    pub points: Vec<(f64, f64, f64)>,
}

/// A line through its points.
pub fn line(plot: &Plot, l: &Line) -> Markup {
    let mut d = String::new();
    let mut drawing = false;
    for (x, y) in &l.points {
        let Some(y) = y.filter(|y| y.is_finite()) else {
            drawing = false;
            continue;
        };
        d.push(if drawing { 'L' } else { 'M' });
        d.push_str(&coordinate(plot.x.at(*x)));
        d.push(' ');
        d.push_str(&coordinate(plot.y.at(y)));
        drawing = true;
    }
    html! { path class={ "line " (l.class) } d=(d) {} }
}

/// The area of a band.
pub fn area(plot: &Plot, band: &Band) -> Markup {
    let place = |x: f64, y: f64| format!("{} {}", coordinate(plot.x.at(x)), coordinate(plot.y.at(y)));
    let upper = band.points.iter().map(|(x, _, hi)| place(*x, *hi));
    // A level lower edge needs its two ends only.
    let level = band.points.first().is_some_and(|f| band.points.iter().all(|p| p.1 == f.1));
    let last = band.points.len().saturating_sub(1);
    let edge = |i: &usize| !level || *i == 0 || *i == last;
    let lower = (0..band.points.len()).rev().filter(edge).map(|i| place(band.points[i].0, band.points[i].1));
    let d = upper.chain(lower).collect::<Vec<_>>().join("L");
    html! { path class=(band.class) d={ "M" (d) "Z" } {} }
}
