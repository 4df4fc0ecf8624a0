//! `[site]`: the trees of the skyline.

use toml::de::DeValue;

use crate::design::parts::{TreeKind, Trees};
use crate::design::reader::DesignReader;
use crate::units::dates;

const KEYS: [&str; 3] = ["site.trees", "site.light_in_leaf", "site.light_bare"];

/// The trees of a skyline whose corners are these.
pub(super) fn trees(r: &mut DesignReader<'_>, corners: Vec<bool>) -> Option<Trees> {
    let leafing = date(r, "site.leafing")?;
    let colouring = date(r, "site.colouring")?;
    if corners.is_empty() {
        for key in KEYS {
            if let Some(span) = r.value(key).map(|v| v.span()).filter(|_| r.given("site.skyline")) {
                let title = format!("`{key}` has no effect without trees in the skyline");
                r.warn(
                    span,
                    title,
                    "ignored",
                    "write corners of trees as [\"90 deg\", \"22 deg\", \"trees\"]",
                );
            }
        }
        return Some(Trees { leafing, colouring, ..Trees::default() });
    }
    if !corners.iter().zip(corners.iter().cycle().skip(1)).any(|(a, b)| *a && *b) {
        let span = r.value("site.skyline").map_or(0..0, |v| v.span());
        let title = "no two neighbouring corners of the skyline are trees";
        r.warn(span, title, "", "trees stand between two corners that both say so");
    }
    let kind = r.word::<TreeKind>("site.trees", None)?;
    let (in_leaf, bare) = kind.usual();
    Some(Trees {
        corners,
        in_leaf: r.exact_or("site.light_in_leaf", Some(in_leaf))?,
        bare: r.exact_or("site.light_bare", Some(bare))?,
        leafing,
        colouring,
    })
}

/// A day of the year; the outer `None` if it cannot be read.
fn date(r: &mut DesignReader<'_>, path: &str) -> Option<Option<u16>> {
    let Some(value) = r.form(path) else { return Some(None) };
    let DeValue::String(text) = value.get_ref() else {
        r.wrong_form(path, value);
        return None;
    };
    let day = dates::day_of_year(text);
    if day.is_none() {
        let help = "write month and day, like \"04-20\"; there is no 02-29";
        r.error(value.span(), format!("\"{text}\" is not a date"), "not understood", help);
    }
    day.map(Some)
}
