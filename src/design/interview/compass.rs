//! Points of the compass, for those who do not count degrees.

const POINTS: [(&str, &str); 16] = [
    ("n", "north"),
    ("nne", "north-north-east"),
    ("ne", "north-east"),
    ("ene", "east-north-east"),
    ("e", "east"),
    ("ese", "east-south-east"),
    ("se", "south-east"),
    ("sse", "south-south-east"),
    ("s", "south"),
    ("ssw", "south-south-west"),
    ("sw", "south-west"),
    ("wsw", "west-south-west"),
    ("w", "west"),
    ("wnw", "west-north-west"),
    ("nw", "north-west"),
    ("nnw", "north-north-west"),
];

/// The azimuth of a point of the compass, in degrees clockwise from north; `None` for any other text.
/// Case, hyphens and spaces do not matter.
pub(super) fn azimuth_deg(text: &str) -> Option<f64> {
    let plain = |s: &str| s.to_lowercase().replace(['-', ' '], "");
    let text = plain(text);
    let k = POINTS.iter().position(|(short, long)| text == *short || text == plain(long))?;
    Some(22.5 * k as f64)
}
