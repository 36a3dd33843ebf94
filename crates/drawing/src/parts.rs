//! Which part of a drawing is the panel.
//!
//! A sheet of drawing paper carries more than a cartoon: a title block, a legend, a frame, a second panel. Lines that hang
//! together, by joining or by a gap that is named, are one *part*; what lies inside a part's outline belongs to it. The panel
//! is the part with lines on the border layer; without any, the only part that encloses something. Where several would do the
//! drawing is refused and each is named, with a number; [`Part`] says which is meant. What is left out is named too.

mod corners;
pub(crate) use corners::{Corners, bounds_of, is_in};
use corners::{area, both, middle};

use crate::arrange::{Arrangement, Drawn, TroubleKind, is_inside};
use crate::curve::Curve;
use crate::finding::{At, Findings};
use crate::settings::{CartoonSettings, Part, Role, carries};
use crate::{Drawing, Page, Stroke};
use cullet_geometry::Point;
use cullet_job::{Units, measure};
use std::collections::{BTreeMap, BTreeSet};

/// Parts that are named one by one; the rest is counted.
const MOST_NAMED: usize = 8;

/// Lines that hang together.
struct DrawnPart {
    /// Indices of the lines.
    lines: Vec<usize>,
    /// A place on one of them.
    at: Point,
    bounds: Corners,
    /// Its outer boundaries; none where it encloses nothing.
    outlines: Vec<Vec<Point>>,
    has_border: bool,
    /// Areas of colour alone, and no line.
    is_filled: bool,
}

/// What of the lines is the panel.
#[derive(Debug, Default)]
pub(crate) struct Choice {
    /// Whether each line is kept.
    pub(crate) kept: Vec<bool>,
    /// Where what is left out lies.
    pub(crate) aside: Vec<Corners>,
}

/// Chooses the panel among the lines of `found`, which were made of `strokes` (index in the drawing, stroke).
pub(crate) fn choose(
    found: &Arrangement,
    lines: &[Drawn],
    strokes: &[(usize, &Stroke)],
    drawing: &Drawing,
    settings: &CartoonSettings,
    findings: &mut Findings,
) -> Choice {
    let all = Choice {
        kept: vec![true; lines.len()],
        aside: vec![],
    };
    let parts = parts(found, lines, strokes, drawing, settings);
    if parts.is_empty() {
        return all;
    }
    let backgrounds = backgrounds(&parts);
    let could_be = candidates(&parts, &backgrounds);
    let candidates = match wanted(&settings.part, &parts, could_be.clone(), strokes, drawing) {
        Ok(those) => those,
        Err((found, hint)) => {
            findings.error(At::default(), found, "a part that the drawing has", &hint);
            return all;
        }
    };
    let Some(largest) = candidates.iter().copied().max_by(|a, b| {
        let size = |i: &usize| area(parts[*i].bounds);
        size(a).total_cmp(&size(b)).then(b.cmp(a))
    }) else {
        return all;
    };
    if candidates.len() > 1 {
        ask(&candidates, &parts, strokes, findings);
    }
    let panel = &parts[largest];
    let belongs = |part: &DrawnPart| std::ptr::eq(part, panel) || is_within(part, panel);
    let letters = letters(&parts, panel, findings);
    let mut left_out: Vec<usize> = (0..parts.len()).filter(|i| !belongs(&parts[*i])).collect();
    if left_out.is_empty() && letters.is_empty() {
        return all;
    }
    // Panels that are told apart, or asked about, are not named once more, and neither is what lies in them.
    let is_known = settings.part != Part::default() || candidates.len() > 1;
    let in_others = |i: &usize| {
        could_be
            .iter()
            .any(|other| i == other || is_within(&parts[*i], &parts[*other]))
    };
    let unnamed = |i: &usize| is_known && in_others(i);
    let named: Vec<usize> = left_out.iter().copied().filter(|i| !unnamed(i)).collect();
    name_left_out(&named, &backgrounds, &parts, strokes, findings);
    left_out.extend(letters);
    let mut kept = vec![true; lines.len()];
    for i in &left_out {
        parts[*i].lines.iter().for_each(|line| kept[*line] = false);
    }
    Choice {
        kept,
        aside: left_out.into_iter().map(|i| parts[i].bounds).collect(),
    }
}

/// Which strokes of a drawing of outlines are meant: every shape is a piece there, and nothing hangs together.
pub(crate) fn is_wanted(drawing: &Drawing, stroke: &Stroke, part: &Part) -> bool {
    let on_layer = |name: &String| carries(name, &stroke.layer, &stroke.classes);
    let on_page = |name: &String| {
        let curves: Vec<Curve> = stroke.segments.iter().flat_map(crate::smooth::curves).collect();
        page(drawing, name).is_some_and(|page| is_in((page.low, page.high), middle(bounds_of(&curves))))
    };
    part.layer.as_ref().is_none_or(on_layer) && part.page.as_ref().is_none_or(on_page)
}

/// The page of a name or number.
fn page<'a>(drawing: &'a Drawing, name: &str) -> Option<&'a Page> {
    let alike = |page: &&Page| page.name.trim().to_lowercase() == name.trim().to_lowercase();
    let pages = &drawing.facts.pages;
    let by_number = || pages.get(name.trim().parse::<usize>().ok()?.checked_sub(1)?);
    pages.iter().find(alike).or_else(by_number)
}

fn parts(
    found: &Arrangement,
    lines: &[Drawn],
    strokes: &[(usize, &Stroke)],
    drawing: &Drawing,
    settings: &CartoonSettings,
) -> Vec<DrawnPart> {
    let mut groups = Groups((0..lines.len()).collect());
    let mut at_junction: BTreeMap<usize, usize> = BTreeMap::new();
    for edge in found.edges.iter().chain(&found.loose) {
        let Some(first) = edge.lines.first().copied() else {
            continue;
        };
        edge.lines.iter().for_each(|line| groups.join(first, *line));
        for junction in [edge.from, edge.to] {
            groups.join(first, *at_junction.entry(junction).or_insert(first));
        }
    }
    for trouble in found.troubles.iter().filter(|t| t.kind != TroubleKind::OpenEnd) {
        trouble
            .lines
            .iter()
            .for_each(|line| groups.join(trouble.lines[0], *line));
    }
    let mut parts: BTreeMap<usize, DrawnPart> = BTreeMap::new();
    for (i, line) in lines.iter().enumerate() {
        let bounds = bounds_of(&line.curves);
        let (index, stroke) = strokes[i];
        let part = parts.entry(groups.root(i)).or_insert(DrawnPart {
            lines: vec![],
            at: line.curves.first().map_or(bounds.0, |curve| curve.at(0.0)),
            bounds,
            outlines: vec![],
            has_border: false,
            is_filled: true,
        });
        part.lines.push(i);
        part.bounds = both(part.bounds, bounds);
        part.has_border |= settings.role(&stroke.layer, &stroke.classes) == Role::Border;
        part.is_filled &= drawing.facts.filled.contains(&index);
    }
    for sides in &found.outsides {
        let first = sides.first().and_then(|side| found.edges[side.edge].lines.first());
        if let Some(part) = first.and_then(|line| parts.get_mut(&groups.root(*line))) {
            part.outlines.push(found.points_of(sides));
        }
    }
    parts.into_values().collect()
}

/// Sets of lines, each with its least line for a name.
struct Groups(Vec<usize>);

impl Groups {
    fn root(&mut self, mut i: usize) -> usize {
        while self.0[i] != i {
            self.0[i] = self.0[self.0[i]];
            i = self.0[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// Whether one part lies in the outline of another.
fn is_within(part: &DrawnPart, other: &DrawnPart) -> bool {
    if std::ptr::eq(part, other) || !is_in(other.bounds, part.bounds.0) || !is_in(other.bounds, part.bounds.1) {
        return false;
    }
    other.outlines.iter().any(|outline| is_inside(outline, part.at))
}

/// The longer side of a part's box, mm.
fn side(part: &DrawnPart) -> f64 {
    let (low, high) = part.bounds;
    (high.x - low.x).max(high.y - low.y)
}

/// Letters are no larger than this on a cartoon, mm, and no text has fewer shapes.
const LARGEST_LETTER: f64 = 40.0;
const FEWEST_LETTERS: usize = 3;

/// Small closed shapes in the panel that hang together with nothing: letters that were turned into outlines. They are named
/// once and left out of what is read.
fn letters(parts: &[DrawnPart], panel: &DrawnPart, findings: &mut Findings) -> Vec<usize> {
    let is_one = |i: &usize| {
        let part = &parts[*i];
        !part.has_border && !part.outlines.is_empty() && side(part) <= LARGEST_LETTER && is_within(part, panel)
    };
    let found: Vec<usize> = (0..parts.len()).filter(is_one).collect();
    let are_filled = !found.is_empty() && found.iter().all(|i| parts[*i].is_filled);
    if found.len() < FEWEST_LETTERS && !are_filled {
        return vec![];
    }
    let largest = found.iter().map(|i| side(&parts[*i])).fold(0.0, f64::max);
    let at = At {
        at: Some(middle(parts[found[0]].bounds)),
        ..At::default()
    };
    let shapes = match found.len() {
        1 => "a closed shape that is connected to nothing".to_owned(),
        n => format!("{n} closed shapes that are connected to nothing"),
    };
    let hint = "It looks as if text was turned into outlines, which no one can read: keep it as text, or put the outlines on a \
                layer named ignore. Pieces of glass want lead lines to the others.";
    let words = format!("{shapes}, {} or less across", measure::length(largest, findings.1));
    // Areas of colour are no lead lines, whatever they are.
    if are_filled {
        findings.warning(at, words, "numbers and glasses as text", hint);
    } else {
        findings.error(at, words, "numbers and glasses as text", hint);
    }
    found
}

/// Areas of colour with other parts in them, on no border layer: the page's background.
fn backgrounds(parts: &[DrawnPart]) -> Vec<usize> {
    let is_one = |i: &usize| {
        let part = &parts[*i];
        let is_area = part.is_filled && !part.has_border && part.lines.len() == 1 && !part.outlines.is_empty();
        is_area && parts.iter().any(|other| !other.is_filled && is_within(other, part))
    };
    (0..parts.len()).filter(is_one).collect()
}

/// What may be the panel, in reading order.
fn candidates(parts: &[DrawnPart], backgrounds: &[usize]) -> Vec<usize> {
    let can_be = |i: &usize| !parts[*i].outlines.is_empty() && !backgrounds.contains(i);
    let with_border: Vec<usize> = (0..parts.len()).filter(|i| can_be(i) && parts[*i].has_border).collect();
    let among = match with_border.is_empty() {
        true => (0..parts.len()).filter(can_be).collect(),
        false => with_border,
    };
    let outermost = |i: &usize| among.iter().all(|other| !is_within(&parts[*i], &parts[*other]));
    let mut found: Vec<usize> = among.iter().copied().filter(outermost).collect();
    // Rows from the top: what overlaps the highest by half the lower of the two heights stands in its row.
    let mut order = vec![];
    let (left, top) = (|i: usize| parts[i].bounds.0.x, |i: usize| parts[i].bounds.1.y);
    let beside = |a: usize, b: usize| {
        let ((low, high), (foot, head)) = (parts[a].bounds, parts[b].bounds);
        let common = high.y.min(head.y) - low.y.max(foot.y);
        common >= (high.y - low.y).min(head.y - foot.y) / 2.0
    };
    found.sort_by(|a, b| top(*b).total_cmp(&top(*a)).then(a.cmp(b)));
    while let Some(first) = found.first().copied() {
        let (mut row, rest): (Vec<usize>, Vec<usize>) = found.into_iter().partition(|i| beside(first, *i));
        row.sort_by(|a, b| left(*a).total_cmp(&left(*b)).then(a.cmp(b)));
        order.extend(row);
        found = rest;
    }
    order
}

/// The candidates that are meant, or what there is instead and what to do.
fn wanted(
    part: &Part,
    parts: &[DrawnPart],
    candidates: Vec<usize>,
    strokes: &[(usize, &Stroke)],
    drawing: &Drawing,
) -> Result<Vec<usize>, (String, String)> {
    let mut those = candidates;
    if let Some(name) = &part.layer {
        let on_it = |line: &usize| {
            let stroke = strokes[*line].1;
            carries(name, &stroke.layer, &stroke.classes)
        };
        those.retain(|i| {
            let inside = parts.iter().filter(|p| is_within(p, &parts[*i]));
            inside.chain([&parts[*i]]).flat_map(|p| &p.lines).any(on_it)
        });
        if those.is_empty() {
            // That no layer has this name is said where the names of layers are looked at.
            let hint = "Name a layer, a group or a class of the panel's lines.";
            return Err((format!("no part with lines on the layer \"{name}\""), hint.to_owned()));
        }
    }
    if let Some(name) = &part.page {
        let Some(page) = page(drawing, name) else {
            let names: Vec<&str> = drawing.facts.pages.iter().map(|page| page.name.as_str()).collect();
            let hint = match names.is_empty() {
                true => "The file names no pages: say which part with a layer or a frame.".to_owned(),
                false => format!("The pages are: {}.", names.join(", ")),
            };
            return Err((format!("no page \"{name}\""), hint));
        };
        those.retain(|i| is_in((page.low, page.high), middle(parts[*i].bounds)));
        if those.is_empty() {
            let hint = "Name the page that the panel lies on.";
            return Err((
                format!("no part that encloses something on the page \"{name}\""),
                hint.to_owned(),
            ));
        }
    }
    if let Some(number) = part.frame {
        let Some(one) = number.checked_sub(1).and_then(|i| those.get(i)) else {
            let hint = format!(
                "They are numbered in rows from the top, each from the left; there are {}.",
                those.len()
            );
            return Err((format!("no part {number} that encloses something"), hint));
        };
        those = vec![*one];
    }
    Ok(those)
}

fn ask(candidates: &[usize], parts: &[DrawnPart], strokes: &[(usize, &Stroke)], findings: &mut Findings) {
    let units = findings.1;
    let one = |(n, i): (usize, &usize)| format!("{}: {}", n + 1, in_words(&parts[*i], strokes, units));
    let mut words: Vec<String> = candidates.iter().enumerate().take(MOST_NAMED).map(one).collect();
    if candidates.len() > MOST_NAMED {
        words.push(format!("and {} more", candidates.len() - MOST_NAMED));
    }
    let have_border = candidates.iter().all(|i| parts[*i].has_border);
    let border = match have_border {
        true => "",
        false => "Put the panel's outer edge on a layer named border and what is no panel on one named ignore, or say ",
    };
    findings.error(
        At::default(),
        format!("{} parts that are not connected ({})", candidates.len(), words.join("; ")),
        "one panel",
        &format!(
            "{border}{}which part is the panel: \"part\": {{\"frame\": 1}} in the panel's drawing, or its layer or page (--part \
             frame=1 without a job). If every shape is a piece, the drawing's \"kind\" is \"outlines\".",
            if have_border { "Say " } else { "" }
        ),
    );
}

/// `400.0 × 300.0 mm, 12 lines on border, lead`.
fn in_words(part: &DrawnPart, strokes: &[(usize, &Stroke)], units: Units) -> String {
    let (low, high) = part.bounds;
    format!(
        "{}, {}",
        measure::size(high.x - low.x, high.y - low.y, units),
        lines_in_words(&part.lines, strokes)
    )
}

fn lines_in_words(lines: &[usize], strokes: &[(usize, &Stroke)]) -> String {
    let layers: BTreeSet<String> = lines.iter().filter_map(|line| layer_of(strokes[*line].1)).collect();
    let count = match lines.len() {
        1 => "1 line".to_owned(),
        n => format!("{n} lines"),
    };
    match layers.len() {
        0 => count,
        1..=5 => format!("{count} on {}", layers.into_iter().collect::<Vec<_>>().join(", ")),
        n => format!("{count} on {n} layers"),
    }
}

/// What a stroke's layer is called: the layer, else its classes.
pub(crate) fn layer_of(stroke: &Stroke) -> Option<String> {
    if !stroke.layer.is_empty() {
        return Some(stroke.layer.clone());
    }
    (!stroke.classes.is_empty()).then(|| stroke.classes.join(" "))
}

fn name_left_out(
    left_out: &[usize],
    backgrounds: &[usize],
    parts: &[DrawnPart],
    strokes: &[(usize, &Stroke)],
    findings: &mut Findings,
) {
    let mut rest: Vec<usize> = vec![];
    let mut named = 0;
    for i in left_out {
        let part = &parts[*i];
        let line = strokes[part.lines[0]].1.place.line;
        // Without a place: a ring far from the panel would stretch the marked drawing and show nothing.
        let at = |source: String| At {
            source,
            ..At::default()
        };
        if backgrounds.contains(i) {
            let (low, high) = part.bounds;
            findings.warning(
                at(format!("line {line}")),
                format!(
                    "an area of colour behind the panel, {}",
                    measure::size(high.x - low.x, high.y - low.y, findings.1)
                ),
                "the panel alone",
                "It is taken for the page's background and left out. If it is the panel's outer edge, put it on a layer named \
                 border.",
            );
        } else if !part.outlines.is_empty() && side(part) > LARGEST_LETTER && named < MOST_NAMED {
            named += 1;
            findings.warning(
                at(format!("line {line}")),
                format!("a part that is not connected to the panel, {}", in_words(part, strokes, findings.1)),
                "the panel alone",
                "It is left out. Put it on a layer named ignore, or join it to the panel with lead lines if it belongs there.",
            );
        } else {
            rest.extend(&part.lines);
        }
    }
    if let Some(first) = rest.first() {
        findings.warning(
            At {
                source: format!("line {}", strokes[*first].1.place.line),
                ..At::default()
            },
            format!(
                "outside the panel {}, connected to nothing",
                lines_in_words(&rest, strokes)
            ),
            "the panel alone",
            "They are left out. Put them on a layer named ignore.",
        );
    }
}
