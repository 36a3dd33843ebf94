//! Basic shapes (W3C SVG 2, chapter 10) as segments in the element's own units.

use super::Bad;
use super::path::{self, Subpath};
use super::view::{Along, Viewport, length};
use crate::drawing::Segment;
use cullet_geometry::Point;
use roxmltree::Node;
use svgtypes::PointsParser;

pub(super) fn read(node: Node, viewport: Viewport) -> Result<Vec<Subpath>, Bad> {
    let get = |name, along| length(node, name, along, viewport);
    let or_zero = |name, along| get(name, along).map(|value| value.unwrap_or(0.0));
    let point = |x, y| -> Result<Point, Bad> {
        Ok(Point {
            x: or_zero(x, Along::Width)?,
            y: or_zero(y, Along::Height)?,
        })
    };
    let one = |segments, closed| vec![Subpath { segments, closed }];
    Ok(match node.tag_name().name() {
        "path" => path::read(node.attribute("d").unwrap_or("").trim())?,
        "line" => {
            let from = point("x1", "y1")?;
            let to = point("x2", "y2")?;
            one(vec![Segment::Line { from, to }], false)
        }
        "circle" => {
            let r = not_negative("r", or_zero("r", Along::Diagonal)?)?;
            let centre = point("cx", "cy")?;
            if r > 0.0 {
                one(vec![ellipse(centre, [r, r])], true)
            } else {
                vec![]
            }
        }
        "ellipse" => {
            let (rx, ry) = (get("rx", Along::Width)?, get("ry", Along::Height)?);
            let rx_or = not_negative("rx", rx.or(ry).unwrap_or(0.0))?;
            let ry_or = not_negative("ry", ry.or(rx).unwrap_or(0.0))?;
            let centre = point("cx", "cy")?;
            if rx_or > 0.0 && ry_or > 0.0 {
                one(vec![ellipse(centre, [rx_or, ry_or])], true)
            } else {
                vec![]
            }
        }
        "rect" => {
            let low = point("x", "y")?;
            let width = not_negative("width", or_zero("width", Along::Width)?)?;
            let height = not_negative("height", or_zero("height", Along::Height)?)?;
            let (rx, ry) = (get("rx", Along::Width)?, get("ry", Along::Height)?);
            let rx_or = rx.or(ry).unwrap_or(0.0).clamp(0.0, width / 2.0);
            let ry_or = ry.or(rx).unwrap_or(0.0).clamp(0.0, height / 2.0);
            if width > 0.0 && height > 0.0 {
                one(rect(low, width, height, rx_or, ry_or), true)
            } else {
                vec![]
            }
        }
        shape => {
            let points = points(node.attribute("points").unwrap_or(""))?;
            let closed = shape == "polygon";
            let segments = sides(&points, closed);
            if segments.is_empty() {
                vec![]
            } else {
                one(segments, closed)
            }
        }
    })
}

/// The lines from point to point, and back to the first where they are `closed`.
fn sides(points: &[Point], closed: bool) -> Vec<Segment> {
    let mut segments: Vec<Segment> = points
        .windows(2)
        .map(|pair| Segment::Line {
            from: pair[0],
            to: pair[1],
        })
        .collect();
    if let (true, Some(first), Some(last)) = (closed, points.first(), points.last())
        && first != last
    {
        segments.push(Segment::Line {
            from: *last,
            to: *first,
        });
    }
    segments
}

fn not_negative(name: &str, value: f64) -> Result<f64, Bad> {
    if value < 0.0 {
        return Err(Bad::attribute(name, &value.to_string(), "a size of 0 or more"));
    }
    Ok(value)
}

fn points(text: &str) -> Result<Vec<Point>, Bad> {
    // The parser stops silently at what is no number: numbers that it did not take are found by counting.
    let points: Vec<Point> = PointsParser::from(text).map(|(x, y)| Point { x, y }).collect();
    let written = svgtypes::NumberListParser::from(text).try_fold(0, |n, number| number.map(|_| n + 1));
    match written {
        Ok(n) if n == 2 * points.len() && points.iter().all(|p| p.x.is_finite() && p.y.is_finite()) => Ok(points),
        _ => Err(Bad::attribute("points", text, "pairs of numbers")),
    }
}

fn ellipse(centre: Point, radii: [f64; 2]) -> Segment {
    Segment::Arc {
        centre,
        radii,
        rotation_deg: 0.0,
        start_deg: 0.0,
        sweep_deg: 360.0,
    }
}

/// SVG 2, 10.2: from the upper left straight on, round corners as quarter ellipses.
fn rect(low: Point, width: f64, height: f64, rx: f64, ry: f64) -> Vec<Segment> {
    let (left, top, right, bottom) = (low.x, low.y, low.x + width, low.y + height);
    let p = |x, y| Point { x, y };
    if rx == 0.0 || ry == 0.0 {
        let corners = [p(left, top), p(right, top), p(right, bottom), p(left, bottom)];
        return (0..4)
            .map(|i| Segment::Line {
                from: corners[i],
                to: corners[(i + 1) % 4],
            })
            .collect();
    }
    let corner = |x, y, start_deg| Segment::Arc {
        centre: p(x, y),
        radii: [rx, ry],
        rotation_deg: 0.0,
        start_deg,
        sweep_deg: 90.0,
    };
    let side = |from, to| Segment::Line { from, to };
    vec![
        side(p(left + rx, top), p(right - rx, top)),
        corner(right - rx, top + ry, -90.0),
        side(p(right, top + ry), p(right, bottom - ry)),
        corner(right - rx, bottom - ry, 0.0),
        side(p(right - rx, bottom), p(left + rx, bottom)),
        corner(left + rx, bottom - ry, 90.0),
        side(p(left, bottom - ry), p(left, top + ry)),
        corner(left + rx, top + ry, 180.0),
    ]
}
