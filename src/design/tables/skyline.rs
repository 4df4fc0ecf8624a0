//! `site.skyline`: the corners of what stands between panel and horizon.

use super::forms::{items, list};
use crate::design::reader::DesignReader;
use crate::design::values::Value;
use crate::units::Dimension;

/// Word for a corner that is the edge of trees.
const TREES: &str = "trees";
/// Corners a skyline may have.
const CORNERS_MAX: usize = 720;

/// Corners as they are read: azimuth °, height °; and whether trees begin or end there.
pub(super) type Corners = (Vec<(f64, f64)>, Vec<bool>);

/// Corners (azimuth °, height °) in order of increasing azimuth, north given at most once and as 0°, and which are trees.
pub(super) fn skyline(r: &mut DesignReader<'_>) -> Option<Corners> {
    let path = "site.skyline";
    let Some(value) = r.form(path) else { return Some(Corners::default()) };
    let rows = list(r, path, value, CORNERS_MAX, "skyline corners")?;
    let mut corners: Vec<(f64, f64)> = Vec::new();
    let mut trees: Vec<bool> = Vec::new();
    let mut sound = true;
    for row in rows {
        let tree = is_tree(r, path, row);
        let n = if tree == Some(false) { 2 } else { 3 };
        let corner = items(r, path, row, n, "[[\"90 deg\", \"8 deg\"], [\"180 deg\", \"22 deg\"]]");
        let corner = corner.and_then(|pair| {
            let azimuth = r.exact_at("azimuth", pair[0], (Dimension::Angle, 0.0, 360.0));
            let height = r.exact_at("height", pair[1], (Dimension::Angle, 0.0, 89.0));
            Some((pair[0], azimuth?, height?, tree?))
        });
        let Some((place, azimuth, height, tree)) = corner else {
            sound = false;
            continue;
        };
        if let Some((before, _)) = corners.last().filter(|(before, _)| *before >= azimuth) {
            let title = format!(
                "skyline corners must be in order of increasing azimuth: {azimuth} deg comes after {before} deg"
            );
            let help = "sort the corners by azimuth, and give each azimuth once";
            r.error(place.span(), title, "not greater than the one before", help);
            sound = false;
        }
        corners.push((azimuth, height));
        trees.push(tree);
    }
    if corners.len() > 1 && corners.first().is_some_and(|c| c.0 == 0.0) {
        // 360 deg is 0 deg again: the corner at north must not be given twice.
        if let Some(last) = corners.last().copied().filter(|c| c.0 == 360.0) {
            if corners[0].1 == last.1 {
                corners.pop();
                trees.pop();
            } else {
                let title = "the skyline has two heights at north (0 deg and 360 deg)";
                r.error(value.span(), title, "", "give north once");
                sound = false;
            }
        }
    } else if let Some(last) = corners.pop_if(|c| c.0 == 360.0) {
        corners.insert(0, (0.0, last.1));
        trees.rotate_right(1);
    }
    if !trees.contains(&true) {
        trees.clear();
    }
    sound.then_some((corners, trees))
}

/// Whether a corner says that it is the edge of trees; `None` if its third value is something else.
fn is_tree<'a>(r: &mut DesignReader<'a>, path: &str, row: Value<'a>) -> Option<bool> {
    let Some(third) = row.get_ref().as_array().and_then(|list| list.get(2)) else { return Some(false) };
    if third.get_ref().as_str() == Some(TREES) {
        return Some(true);
    }
    let title = format!("the third value of a corner in `{path}` can only be \"{TREES}\"");
    r.error(third.span(), title, "", "leave it out where a wall, a roof or a hill stands");
    None
}
