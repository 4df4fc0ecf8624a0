//! A map of shares as a small indexed PNG, one pixel a cell, in a data: address.

use base64::Engine as _;

/// Shares of 1 by column, then row from the top; `None` is see-through. The scale is cividis, which
/// reads alike with and without full colour vision (Nuñez, Anderton & Renslow 2018).
///
/// Gives nothing if there are no cells.
pub fn png(columns: &[Vec<Option<f64>>]) -> Option<String> {
    let height = columns.first()?.len();
    if height == 0 || columns.iter().any(|c| c.len() != height) {
        return None;
    }
    const SEE_THROUGH: u8 = 255;
    let mut pixels = Vec::with_capacity(columns.len() * height);
    for row in 0..height {
        for column in columns {
            pixels.push(match column[row] {
                Some(share) => (share.clamp(0.0, 1.0) * 254.0).round() as u8,
                None => SEE_THROUGH,
            });
        }
    }
    let mut bytes = Vec::new();
    let mut encoder =
        png::Encoder::new(&mut bytes, u32::try_from(columns.len()).ok()?, u32::try_from(height).ok()?);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder
        .set_palette((0..256).flat_map(|i| <[u8; 3]>::from(colour(i as f64 / 254.0))).collect::<Vec<u8>>());
    encoder.set_trns((0..=255_u8).map(|i| if i == SEE_THROUGH { 0 } else { 255 }).collect::<Vec<u8>>());
    encoder.write_header().ok()?.write_image_data(&pixels).ok()?;
    Some(format!("data:image/png;base64,{}", base64::engine::general_purpose::STANDARD.encode(bytes)))
}

fn colour(share: f64) -> (u8, u8, u8) {
    let c = colorous::CIVIDIS.eval_continuous(share.clamp(0.0, 1.0));
    (c.r, c.g, c.b)
}

/// The scale as stops of a gradient, from 0 to 1.
pub(crate) fn stops(n: usize) -> Vec<(f64, String)> {
    (0..=n)
        .map(|i| {
            let share = i as f64 / n as f64;
            let (r, g, b) = colour(share);
            (share, format!("#{r:02x}{g:02x}{b:02x}"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_ragged_or_empty_map_gives_no_picture() {
        assert!(super::png(&[]).is_none());
        assert!(super::png(&[vec![Some(1.0)], vec![]]).is_none());
        assert!(super::png(&[vec![Some(1.0), None]]).unwrap().starts_with("data:image/png;base64,"));
    }
}
