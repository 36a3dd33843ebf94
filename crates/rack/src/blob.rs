//! Outlines as the rack keeps them: every coordinate exactly as it is, 16 bytes a corner.

use cullet_geometry::{Outline, Point};

/// Corners as little-endian pairs.
pub(crate) fn of_outline(outline: &Outline) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(outline.points().len() * 16);
    for point in outline.points() {
        bytes.extend_from_slice(&point.x.to_le_bytes());
        bytes.extend_from_slice(&point.y.to_le_bytes());
    }
    bytes
}

/// The same outline again; `None` where the bytes are none.
pub(crate) fn to_outline(bytes: &[u8]) -> Option<Outline> {
    let (numbers, rest) = bytes.as_chunks::<8>();
    if !rest.is_empty() || numbers.len() % 2 != 0 {
        return None;
    }
    let points = numbers.chunks_exact(2).map(|pair| Point {
        x: f64::from_le_bytes(pair[0]),
        y: f64::from_le_bytes(pair[1]),
    });
    Outline::new(points.collect()).ok()
}

/// Each outline with the number of its bytes in front; nothing at all for none.
pub(crate) fn of_outlines(outlines: &[Outline]) -> Vec<u8> {
    let mut bytes = vec![];
    for outline in outlines {
        let one = of_outline(outline);
        bytes.extend_from_slice(&(one.len() as u32).to_le_bytes());
        bytes.extend_from_slice(&one);
    }
    bytes
}

/// The same outlines again; `None` where the bytes are none.
pub(crate) fn to_outlines(mut bytes: &[u8]) -> Option<Vec<Outline>> {
    let mut outlines = vec![];
    while let Some((head, rest)) = bytes.split_first_chunk::<4>() {
        let length = u32::from_le_bytes(*head) as usize;
        let (one, rest) = rest.split_at_checked(length)?;
        outlines.push(to_outline(one)?);
        bytes = rest;
    }
    bytes.is_empty().then_some(outlines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_come_back_to_the_last_digit() {
        let outlines = [
            Outline::rectangle(0.1 + 0.2, 1.0 / 3.0),
            Outline::rectangle(610.0, 1220.0),
        ];
        assert_eq!(to_outlines(&of_outlines(&outlines)).as_deref(), Some(&outlines[..]));
        assert_eq!(to_outlines(&[]), Some(vec![]));
    }

    #[test]
    fn broken_bytes_are_no_outline() {
        let bytes = of_outlines(&[Outline::rectangle(1.0, 2.0)]);
        for end in 1..bytes.len() {
            assert_eq!(to_outlines(&bytes[..end]), None, "{end}");
        }
        assert_eq!(to_outline(&[0; 48]), None);
    }
}
