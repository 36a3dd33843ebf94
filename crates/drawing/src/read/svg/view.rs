//! Lengths, units and viewports (W3C SVG 2, chapters 8 and 9; CSS Values 3 for the units).

use super::Bad;
use crate::read::affine::Affine;
use roxmltree::Node;
use svgtypes::{Align, AspectRatio, Length, LengthUnit, ViewBox};

/// 96 px are an inch (CSS Values 3).
pub(super) const MM_PER_PX: f64 = 25.4 / 96.0;
pub(super) const SIZE_HINT: &str = "correct the number; sizes are written like 400, 400mm or 15.75in";

/// Width and height that percentages refer to, user units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Viewport {
    pub(super) width: f64,
    pub(super) height: f64,
}

/// What a percentage is a share of.
#[derive(Debug, Clone, Copy)]
pub(super) enum Along {
    Width,
    Height,
    Diagonal,
}

/// How the inside of an element lies in what is around it.
pub(super) struct Frame {
    pub(super) map: Affine,
    pub(super) viewport: Viewport,
}

/// The attribute as user units; none if it is missing, empty or `auto`.
pub(super) fn length(node: Node, name: &str, along: Along, viewport: Viewport) -> Result<Option<f64>, Bad> {
    let Some(text) = node
        .attribute(name)
        .map(str::trim)
        .filter(|t| !t.is_empty() && *t != "auto")
    else {
        return Ok(None);
    };
    let bad = || {
        Bad::attribute(
            name,
            text,
            "a number, with mm, cm, in, pt, pc, px or % or without a unit",
        )
    };
    let value = to_px(text.parse::<Length>().map_err(|_| bad())?, along, viewport);
    if value.is_finite() { Ok(Some(value)) } else { Err(bad()) }
}

pub(super) fn to_px(length: Length, along: Along, viewport: Viewport) -> f64 {
    let whole = match along {
        Along::Width => viewport.width,
        Along::Height => viewport.height,
        Along::Diagonal => viewport.width.hypot(viewport.height) / std::f64::consts::SQRT_2,
    };
    length.number
        * match length.unit {
            LengthUnit::None | LengthUnit::Px => 1.0,
            LengthUnit::Mm => 1.0 / MM_PER_PX,
            LengthUnit::Cm => 10.0 / MM_PER_PX,
            LengthUnit::In => 96.0,
            LengthUnit::Pt => 96.0 / 72.0,
            LengthUnit::Pc => 16.0,
            LengthUnit::Percent => whole / 100.0,
            // The initial font size is 16 px and an x-height half of it (CSS Values 3, 5.1.1).
            LengthUnit::Em => 16.0,
            LengthUnit::Ex => 8.0,
        }
}

/// The outermost svg: a missing or relative width or height is that of its viewBox, in px.
pub(super) fn outermost(node: Node) -> Result<Frame, Bad> {
    let view_box = view_box(node)?;
    let whole = view_box.map_or(
        Viewport {
            width: 0.0,
            height: 0.0,
        },
        |b| Viewport {
            width: b.w,
            height: b.h,
        },
    );
    // A share of the page it is shown on says nothing about the drawing.
    let stated = |name, along| match node.attribute(name) {
        Some(text) if text.trim().ends_with('%') => Ok(None),
        _ => length(node, name, along, whole),
    };
    let width = stated("width", Along::Width)?;
    let height = stated("height", Along::Height)?;
    // With one size stated the other follows from the viewBox's proportions.
    let (width, height) = match (width, height) {
        (Some(w), None) if whole.width > 0.0 => (w, w * whole.height / whole.width),
        (None, Some(h)) if whole.height > 0.0 => (h * whole.width / whole.height, h),
        (w, h) => (w.unwrap_or(whole.width), h.unwrap_or(whole.height)),
    };
    let Some(view_box) = view_box.filter(|_| width > 0.0 && height > 0.0) else {
        return Ok(Frame {
            map: Affine::IDENTITY,
            viewport: Viewport { width, height },
        });
    };
    fit(node, view_box, width, height)
}

/// A nested svg, or a symbol or svg drawn by the `use` element `by`; none if it has no size.
pub(super) fn nested(node: Node, by: Option<Node>, viewport: Viewport) -> Result<Option<Frame>, Bad> {
    let size = |name, along, whole: f64| -> Result<f64, Bad> {
        let given = match by {
            Some(by) => length(by, name, along, viewport)?,
            None => None,
        };
        Ok(match given {
            Some(value) => value,
            None => length(node, name, along, viewport)?.unwrap_or(whole),
        })
    };
    let x = length(node, "x", Along::Width, viewport)?.unwrap_or(0.0);
    let y = length(node, "y", Along::Height, viewport)?.unwrap_or(0.0);
    let view_box = view_box(node)?;
    // Where nothing around states a size, the viewBox is its own.
    let whole = |around: f64, own: Option<f64>| if around > 0.0 { around } else { own.unwrap_or(0.0) };
    let width = size("width", Along::Width, whole(viewport.width, view_box.map(|b| b.w)))?;
    let height = size("height", Along::Height, whole(viewport.height, view_box.map(|b| b.h)))?;
    let shift = Affine::shift(x, y);
    let Some(view_box) = view_box else {
        return Ok(Some(Frame {
            map: shift,
            viewport: Viewport { width, height },
        }));
    };
    if !(width > 0.0 && height > 0.0) {
        return Ok(None);
    }
    let inside = fit(node, view_box, width, height)?;
    Ok(Some(Frame {
        map: shift.after(&inside.map),
        ..inside
    }))
}

fn view_box(node: Node) -> Result<Option<ViewBox>, Bad> {
    let Some(text) = node.attribute("viewBox") else {
        return Ok(None);
    };
    let sound = |b: &ViewBox| [b.x, b.y, b.w, b.h].into_iter().all(f64::is_finite);
    match text.trim().parse::<ViewBox>() {
        Ok(view_box) if sound(&view_box) => Ok(Some(view_box)),
        _ => Err(Bad::attribute(
            "viewBox",
            text,
            "four numbers: left, top, width, height, the sizes more than 0",
        )),
    }
}

/// SVG 2, 8.2: the viewBox fitted into width by height as `preserveAspectRatio` says.
fn fit(node: Node, view_box: ViewBox, width: f64, height: f64) -> Result<Frame, Bad> {
    let text = node.attribute("preserveAspectRatio").map_or("xMidYMid", str::trim);
    let ratio: AspectRatio = text.parse().map_err(|_| {
        Bad::attribute(
            "preserveAspectRatio",
            text,
            "none, or xMinYMin to xMaxYMax, then meet or slice",
        )
    })?;
    let (mut sx, mut sy) = (width / view_box.w, height / view_box.h);
    if ratio.align != Align::None {
        let both = if ratio.slice { sx.max(sy) } else { sx.min(sy) };
        (sx, sy) = (both, both);
    }
    let (share_x, share_y) = match ratio.align {
        Align::None | Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMidYMid => (0.5, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
    };
    let e = (width - view_box.w * sx) * share_x - view_box.x * sx;
    let f = (height - view_box.h * sy) * share_y - view_box.y * sy;
    Ok(Frame {
        map: Affine::new(sx, 0.0, 0.0, sy, e, f),
        viewport: Viewport {
            width: view_box.w,
            height: view_box.h,
        },
    })
}
