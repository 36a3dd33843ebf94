//! What a file says besides its lines: what is not read of it, what nobody sees, names of layers, how large it is.

use crate::drawing::{Drawing, Stated, Stroke};
use crate::finding::{At, Findings};
use crate::parts::layer_of;
use crate::settings::{CartoonSettings, LEAD, Role, carries};
use cullet_geometry::Point;
use cullet_job::{Units, measure, nearest_name};
use std::collections::BTreeSet;

/// Names of layers that a finding lists.
const MOST_NAMES: usize = 30;
/// Sizes that were measured and that were stated may differ by this much, mm.
const SIZE_OFF_MM: f64 = 1.0;
/// Panels of leaded glass measure this much, mm; common practice.
const USUAL_MM: std::ops::RangeInclusive<f64> = 100.0..=4000.0;

/// Names what is left out of the file, and layers that are named and not there.
pub(crate) fn check_file(drawing: &Drawing, settings: &CartoonSettings, findings: &mut Findings) {
    for what in &drawing.unread {
        let (expected, hint) = unread(what);
        let at = At {
            source: what.clone(),
            ..At::default()
        };
        findings.warning(at, "something that is not read", expected, hint);
    }
    let unseen = &drawing.facts.unseen;
    if !unseen.is_empty() {
        let all: usize = unseen.values().map(|(count, _)| count).sum();
        let words: Vec<String> = unseen
            .iter()
            .map(|(why, (count, line))| format!("{count} {why} (line {line})"))
            .take(MOST_NAMES)
            .collect();
        findings.warning(
            At::default(),
            format!(
                "{all} {} that nobody sees: {}",
                if all == 1 { "line or text" } else { "lines and texts" },
                words.join(", ")
            ),
            "a drawing that shows all that is meant",
            "They are left out. Show them and give them a stroke if they are part of the cartoon.",
        );
    }
    name_outlined_text(drawing, settings, findings);
    check_names(drawing, settings, findings);
}

/// Lines on a layer of texts are no lead lines; most often they are letters that were turned into outlines.
fn name_outlined_text(drawing: &Drawing, settings: &CartoonSettings, findings: &mut Findings) {
    let mut lines = drawing
        .strokes
        .iter()
        .filter(|stroke| settings.role(&stroke.layer, &stroke.classes) == Role::Text);
    let Some(first) = lines.next() else { return };
    let count = 1 + lines.count();
    findings.warning(
        At {
            source: format!("line {}", first.place.line),
            ..At::default()
        },
        format!(
            "{count} line{} on {}, a layer of texts",
            if count == 1 { "" } else { "s" },
            layer_of(first).unwrap_or_default()
        ),
        "numbers and glasses as text",
        "They are left out. If text was turned into outlines, which no one can read, undo that in the drawing program.",
    );
}

/// What to expect and to do where something is not read.
fn unread(what: &str) -> (&'static str, &'static str) {
    let kind = what.split([' ', ',']).next().unwrap_or("");
    match kind {
        "flowRoot" | "foreignObject" => (
            "texts that stand where they are",
            "This is flowed text: turn it into plain text (a drawing program may call that unflow), so that numbers and glasses \
             are read.",
        ),
        "image" => (
            "lines, curves and texts",
            "A picture has no lines to read: draw the lead lines over it.",
        ),
        "HATCH" | "DIMENSION" | "LEADER" | "MULTILEADER" | "SOLID" | "POINT" => {
            ("lines, curves and texts", "It is no lead line: nothing is lost.")
        }
        _ => (
            "lines, curves and texts",
            "Turn it into lines if it is part of the cartoon; otherwise leave it.",
        ),
    }
}

/// Every name that the settings give must be borne by something in the file.
fn check_names(drawing: &Drawing, settings: &CartoonSettings, findings: &mut Findings) {
    let layers = &settings.layers;
    let cames = settings
        .cames
        .iter()
        .flat_map(|came| &came.layers)
        .map(|name| (name, "came"));
    let mut asked: Vec<(&String, &str)> = vec![];
    for (names, field) in [
        (&layers.lead, "layers, lead"),
        (&layers.border, "layers, border"),
        (&layers.text, "layers, text"),
        (&layers.grain, "layers, grain"),
        (&layers.ignore, "layers, ignore"),
    ] {
        asked.extend(names.iter().map(|name| (name, field)));
    }
    asked.extend(cames);
    asked.extend(settings.part.layer.iter().map(|name| (name, "part, layer")));
    let is_there = |name: &str| {
        let facts = &drawing.facts.layers;
        facts.iter().any(|layer| carries(name, layer, &[]))
            || drawing
                .strokes
                .iter()
                .any(|stroke| carries(name, &stroke.layer, &stroke.classes))
            || drawing
                .texts
                .iter()
                .any(|text| carries(name, &text.layer, &text.classes))
    };
    let missing: Vec<(&String, &str)> = asked.into_iter().filter(|(name, _)| !is_there(name)).collect();
    if missing.is_empty() {
        return;
    }
    let names = names(drawing);
    let shown: Vec<&str> = names.iter().take(MOST_NAMES).map(String::as_str).collect();
    let there = match (shown.is_empty(), names.len() > MOST_NAMES) {
        (true, _) => "The drawing has no layers.".to_owned(),
        (false, false) => format!("There are: {}.", shown.join(", ")),
        (false, true) => format!("There are: {} and {} more.", shown.join(", "), names.len() - MOST_NAMES),
    };
    for (name, field) in missing {
        let near = nearest_name(name, names.iter().map(String::as_str));
        let hint = match &near {
            Some(near) => format!("Did you mean \"{near}\"? {there}"),
            None => there.clone(),
        };
        let at = At {
            source: field.to_owned(),
            ..At::default()
        };
        let found = format!("no layer, group or class \"{name}\" in the drawing");
        let expected = "names that the drawing has";
        // Nothing that is left out changes nothing, unless the name was misspelt.
        if field == "layers, ignore" && near.is_none() {
            findings.warning(at, found, expected, &hint);
        } else {
            findings.error(at, found, expected, &hint);
        }
    }
}

/// Layers, groups and classes that carry something.
fn names(drawing: &Drawing) -> BTreeSet<String> {
    let strokes = drawing.strokes.iter().map(|stroke| (&stroke.layer, &stroke.classes));
    let texts = drawing.texts.iter().map(|text| (&text.layer, &text.classes));
    let mut names = BTreeSet::new();
    for (layer, classes) in strokes.chain(texts) {
        for name in layer
            .split('/')
            .filter(|name| !name.is_empty())
            .chain(classes.iter().map(String::as_str))
        {
            if !names.contains(name) {
                names.insert(name.to_owned());
            }
        }
    }
    names
}

/// Where a layer is called `lead`, lines on others that nothing names are said to be lead lines too.
/// `strokes` are those that are read as lead lines.
pub(crate) fn name_guessed(strokes: &[(usize, &Stroke)], settings: &CartoonSettings, findings: &mut Findings) {
    if !settings.layers.lead.is_empty() {
        return;
    }
    let mut is_any_lead = false;
    let mut others = BTreeSet::new();
    let (mut count, mut first) = (0, 0);
    for (_, stroke) in strokes {
        let is_lead = carries(LEAD, &stroke.layer, &stroke.classes);
        is_any_lead |= is_lead;
        if is_lead || settings.role(&stroke.layer, &stroke.classes) != Role::Lead(0) {
            continue;
        }
        // Lines of the first came's own layers were named.
        let own = settings.cames.first().is_some_and(|came| {
            came.layers
                .iter()
                .any(|name| carries(name, &stroke.layer, &stroke.classes))
        });
        if let (false, Some(name)) = (own, layer_of(stroke)) {
            if count == 0 {
                first = stroke.place.line;
            }
            count += 1;
            others.insert(name);
        }
    }
    if !is_any_lead || count == 0 {
        return;
    }
    let shown: Vec<&str> = others.iter().take(MOST_NAMES).map(String::as_str).collect();
    findings.warning(
        At {
            source: format!("line {first}"),
            ..At::default()
        },
        format!("{count} line{} on {} beside the layer lead", if count == 1 { "" } else { "s" }, shown.join(", ")),
        "lead lines on the layer lead",
        "They count as lead lines. Put what is none on a layer named ignore, or name the layers of lead lines under \"layers\".",
    );
}

/// Names a scale that the file does not state, a size that is not the stated one, and sizes that no panel has; `bounds` is
/// the panel's outer line.
pub(crate) fn check_size(
    drawing: &Drawing,
    settings: &CartoonSettings,
    bounds: (Point, Point),
    findings: &mut Findings,
) {
    let (width, height) = (bounds.1.x - bounds.0.x, bounds.1.y - bounds.0.y);
    if !(width > 0.0 && height > 0.0) {
        return;
    }
    let units = settings.units;
    let scale = &drawing.facts.scale;
    let is_size = |factor: f64| {
        settings.size.is_some_and(|[w, h]| {
            (w - width * factor).abs() <= SIZE_OFF_MM && (h - height * factor).abs() <= SIZE_OFF_MM
        })
    };
    if let Stated::Pixels { likely_per_inch, found } = &scale.stated {
        name_readings(
            scale.unit_mm,
            *likely_per_inch,
            found,
            (width, height),
            &is_size,
            findings,
        );
    } else if let Some([w, h]) = settings.size.filter(|_| !is_size(1.0)) {
        let factor = w / width;
        let hint = if is_size(factor) {
            format!(
                "All of it would be right with \"unit_mm\": {}.",
                rounded(scale.unit_mm * factor)
            )
        } else if (w - height).abs() <= SIZE_OFF_MM && (h - width).abs() <= SIZE_OFF_MM {
            "The width comes first: turn the two round.".to_owned()
        } else {
            "Draw the panel's outer edge to size, or correct the size.".to_owned()
        };
        findings.error(
            At::default(),
            format!("a panel of {}", measure::size(width, height, units)),
            &format!("{}, as the size is stated", measure::size(w, h, units)),
            &hint,
        );
    } else if settings.size.is_none() && settings.opening.is_none() && !USUAL_MM.contains(&width.max(height)) {
        unusual_size((width, height), units, scale.unit_mm, findings);
    }
}

/// Asks about a size that no panel has.
fn unusual_size((width, height): (f64, f64), units: Units, unit_mm: f64, findings: &mut Findings) {
    let is_small = width.max(height) < *USUAL_MM.start();
    let (words, factors) = match is_small {
        true => ("Is it drawn at 1 : 10, or in inches?", [10.0, 25.4]),
        false => (
            "Is it drawn ten times too large, or in inches read as millimetres?",
            [0.1, 1.0 / 25.4],
        ),
    };
    let readings = factors.map(|factor| {
        let (w, h) = (width * factor, height * factor);
        format!(
            "{} with \"unit_mm\": {}",
            measure::size(w, h, units),
            rounded(unit_mm * factor)
        )
    });
    findings.warning(
        At::default(),
        format!("a panel of {}", measure::size(width, height, units)),
        match units {
            Units::Millimetres => "a cartoon in full size, 100 mm to 4 m",
            Units::Inches => "a cartoon in full size, 4 in to 13 ft",
        },
        &format!(
            "{words} Then it is {} in the panel's drawing (--unit-mm without a job).",
            readings.join(", or ")
        ),
    );
}

/// The sizes that each reading of a drawing in pixels gives, which was read with 96 to the inch.
fn name_readings(
    unit_mm: f64,
    likely_per_inch: Option<u32>,
    stated: &str,
    (width, height): (f64, f64),
    is_size: &dyn Fn(f64) -> bool,
    findings: &mut Findings,
) {
    let mut readings: Vec<(String, f64)> = [96, 90, 72]
        .map(|n| (format!("{n} to the inch"), 96.0 / f64::from(n)))
        .into();
    readings.push(("1 mm to the unit".to_owned(), 1.0 / unit_mm));
    let words: Vec<String> = readings
        .iter()
        .map(|(name, factor)| {
            let (w, h) = (width * factor, height * factor);
            let fits = if is_size(*factor) { ", the size stated" } else { "" };
            format!("{w:.1} × {h:.1} mm at {name} ({}{fits})", rounded(unit_mm * factor))
        })
        .collect();
    let likely = likely_per_inch.map_or(String::new(), |n| {
        format!("The program that saved the file counts {n} to the inch. ")
    });
    findings.error(
        At::default(),
        format!("no true size, pixels alone ({stated})"),
        "a width and a height in mm, cm or inches and a viewBox",
        &format!(
            "{likely}It is {}. Give the number behind the right size as unit_mm in the panel's drawing (--unit-mm without a \
             job), or save the drawing with its size in mm.",
            words.join(", ")
        ),
    );
}

/// A unit as one types it.
fn rounded(unit: f64) -> f64 {
    let digits = 10_f64.powf(6.0 - unit.abs().log10().ceil());
    (unit * digits).round() / digits
}
