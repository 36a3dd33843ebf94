//! SVG (W3C SVG 2) to strokes and texts: the walk over its elements. Lengths and viewports are in [`view`], shapes in
//! [`shapes`], path data in [`path`], texts in [`text`], visibility in [`style`].

mod names;
use names::{DRAWN, LINK_SPACE, NOT_APPLIED, SHOWS_NOTHING, cut, is_chosen, is_svg, layer_name};

mod source;
use source::{Lines, decode, xml_error};

mod depth;
mod entities;
mod frames;
mod path;
mod shapes;
mod style;
mod text;
mod view;

use super::affine::Affine;
use super::limits::{Around, Gather};
use super::{ReadError, ReadOptions, checked_size};
#[cfg(doc)]
use crate::drawing::FileFacts;
use crate::drawing::{Drawing, Page, Place, Scale, Stated};
use cullet_geometry::Point;
use roxmltree::{Node, ParsingOptions};
use std::collections::BTreeMap;
use style::{Paint, Sheet};
use view::Viewport;

/// The drawing in an SVG file.
///
/// Read: path, rect, circle, ellipse, line, polyline, polygon, text and tspan, g, a, switch, `use`, symbol, nested svg,
/// transforms, `viewBox` with `preserveAspectRatio`, units (96 px to the inch; a missing width or height means px).
/// Arcs stay arcs under any transform. y is turned by a sign: the page's upper left corner is the origin, so a page lies
/// at y ≤ 0. What nobody sees is left out and counted in [`FileFacts::unseen`]: what `display`, `visibility` or opacity hides,
/// and what has neither fill nor stroke; style sheets are read for these, by element, class and id. A group's layer name is its `label` in any namespace, else its id; classes are those of the groups around,
/// outermost first, then its own. Everything else that would show is named in [`Drawing::unread`].
///
/// # Errors
/// See [`ReadError`]; all values that cannot be read come together.
pub fn svg(bytes: &[u8], options: &ReadOptions) -> Result<Drawing, ReadError> {
    let unit_mm = options.checked_unit()?;
    let gather = checked_size(bytes, options)?;
    let source = decode(bytes)?;
    let lines = Lines::new(&source);
    if let Some(at) = depth::too_deep(&source, options.limits.depth.saturating_add(1)) {
        return Err(gather.limit(super::Limit::Depth, format!("line {}", lines.at(at))));
    }
    if let Some(at) = entities::too_long(&source, options.limits.bytes) {
        return Err(gather.limit(super::Limit::Entities, format!("line {}", lines.at(at))));
    }
    // Text between elements and comments are nodes as well: a few for each element.
    let nodes = u32::try_from(options.limits.elements.saturating_mul(4).saturating_add(16)).unwrap_or(u32::MAX);
    let parsing = ParsingOptions {
        allow_dtd: true,
        nodes_limit: nodes,
    };
    let document =
        roxmltree::Document::parse_with_options(&source, parsing).map_err(|e| xml_error(&e, &gather, &lines))?;
    let root = document.root_element();
    if !is_svg(root) || root.tag_name().name() != "svg" {
        return Err(ReadError::Kind {
            found: format!("an XML file whose outermost element is {:?}", root.tag_name().name()),
            hint: "save the drawing as SVG (not compressed), with its layers".to_owned(),
        });
    }
    let mut ids = BTreeMap::new();
    for node in document.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id") {
            ids.entry(id).or_insert(node);
        }
    }
    let per_inch = per_inch(&document);
    let mut walk = Walk {
        gather,
        lines: &lines,
        ids,
        sheet: Sheet::default(),
        uses: vec![],
    };
    walk.read_sheets(&document);
    walk.root(root, unit_mm, per_inch)?;
    walk.gather.finish()
}

/// How many pixels the program that saved the file counts to the inch where that is not CSS's 96: 90 for versions of Inkscape
/// before 0.92, 72 for Adobe Illustrator (both from memory).
fn per_inch(document: &roxmltree::Document) -> Option<u32> {
    let root = document.root_element();
    let version = root
        .attributes()
        .find(|a| a.name() == "version" && a.namespace().is_some_and(|space| space.contains("inkscape")));
    let mut numbers = version
        .map_or("", |a| a.value())
        .split(['.', ' ', '-', '+'])
        .map(str::parse::<u32>);
    if let (Some(Ok(0)), Some(Ok(minor))) = (numbers.next(), numbers.next())
        && minor < 92
    {
        return Some(90);
    }
    let mut comments = document.root().children().filter(|n| n.is_comment());
    let is_by = |node: Node| node.text().is_some_and(|text| text.contains("Adobe Illustrator"));
    comments.any(is_by).then_some(72)
}

/// What the outermost element says of its unit.
fn stated(root: Node, likely_per_inch: Option<u32>) -> Stated {
    let is_length = |name| {
        let text = root.attribute(name).unwrap_or("").trim();
        ["mm", "cm", "in", "pt", "pc"].iter().any(|unit| text.ends_with(unit))
    };
    let has_view_box = root.has_attribute("viewBox");
    // Without a viewBox coordinates are pixels, and those of a program that counts otherwise are others than CSS's.
    if (is_length("width") || is_length("height")) && (has_view_box || likely_per_inch.is_none()) {
        return Stated::Length;
    }
    let words = ["width", "height"].map(|name| root.attribute(name).map(|value| format!("{name}={:?}", cut(value))));
    let words: Vec<String> = words.into_iter().flatten().collect();
    Stated::Pixels {
        likely_per_inch,
        found: match (words.is_empty(), has_view_box) {
            (true, _) => "neither width nor height".to_owned(),
            (false, true) => words.join(" "),
            (false, false) => format!("{} and no viewBox", words.join(" ")),
        },
    }
}

/// Pages that are kept; no file of a workshop has more.
const MOST_PAGES: usize = 1000;

/// Classes of one element and the groups around it; more mean nothing to a job.
const MOST_CLASSES: usize = 64;

struct Walk<'a, 'input> {
    gather: Gather,
    lines: &'a Lines,
    ids: BTreeMap<&'a str, Node<'a, 'input>>,
    sheet: Sheet,
    /// The elements now being drawn through `use`, outermost first.
    uses: Vec<Node<'a, 'input>>,
}

/// What an element inherits.
#[derive(Clone)]
struct Context {
    map: Affine,
    viewport: Viewport,
    around: Around,
    visible: bool,
    paint: Paint,
    depth: usize,
}

impl<'a, 'input: 'a> Walk<'a, 'input> {
    fn read_sheets(&mut self, document: &'a roxmltree::Document<'input>) {
        for node in document
            .descendants()
            .filter(|n| is_svg(*n) && n.tag_name().name() == "style")
        {
            let css: String = node
                .descendants()
                .filter_map(|n| if n.is_text() { n.text() } else { None })
                .collect();
            let line = self.lines.of(node);
            for selector in self.sheet.add(&css) {
                self.gather.left_out(format!("style rule {selector:?}"), line);
            }
        }
    }

    fn children(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), ReadError> {
        node.children().try_for_each(|child| self.element(child, context))
    }

    fn element(&mut self, node: Node<'a, 'input>, parent: &Context) -> Result<(), ReadError> {
        if !is_svg(node) || SHOWS_NOTHING.contains(&node.tag_name().name()) {
            return Ok(());
        }
        let Some(context) = self.enter(node, parent)? else {
            return Ok(());
        };
        match node.tag_name().name() {
            "g" | "a" => self.children(node, &context),
            "switch" => match node.children().find(|n| is_chosen(*n)) {
                Some(chosen) => self.element(chosen, &context),
                None => Ok(()),
            },
            "svg" => self.framed(node, &context, None),
            "use" => self.through_use(node, &context),
            "text" if !self.sheet.may_be_seen(context.paint) => self.unseen(node, "with neither fill nor stroke"),
            "text" => self.text(node, &context),
            name if DRAWN.contains(&name) => self.shape(node, &context),
            "image" => self.named(node, &context, "image (a bitmap: only drawn lines are read)"),
            name => self.named(node, &context, name),
        }
    }

    fn named(&mut self, node: Node, context: &Context, name: &str) -> Result<(), ReadError> {
        if context.visible {
            self.gather.left_out(name, self.lines.of(node));
        }
        Ok(())
    }

    /// The classes that `node` adds to those around it.
    fn classes(&mut self, node: Node<'_, '_>, line: u32, around: &mut Around) {
        for class in node.attribute("class").unwrap_or("").split_ascii_whitespace() {
            if around.classes.iter().any(|c| c == class) {
                continue;
            }
            if around.classes.len() == MOST_CLASSES || class.len() > self.gather.limits.text {
                self.gather.left_out(
                    format!(
                        "classes of {} past the {MOST_CLASSES}th, or too long",
                        node.tag_name().name()
                    ),
                    line,
                );
                break;
            }
            self.gather.facts().layers.insert(class.to_owned());
            around.classes.push(class.to_owned());
        }
    }

    /// The context inside `node`, or none if nothing of it shows.
    fn enter(&mut self, node: Node<'a, 'input>, parent: &Context) -> Result<Option<Context>, ReadError> {
        let line = self.lines.of(node);
        let name = node.tag_name().name();
        self.gather.element(line, parent.depth)?;
        self.gather
            .work(node.attributes().map(|a| a.value().len()).sum(), line)?;
        let layer = layer_name(node).filter(|_| parent.depth > 0);
        if let Some(layer) = layer {
            self.gather.facts().layers.insert(layer.to_owned());
        }
        let shown = self.sheet.shown(node);
        if shown.display == Some(false) {
            return self.unseen(node, "hidden").map(|()| None);
        }
        if shown.opaque == Some(false) {
            return self.unseen(node, "wholly transparent").map(|()| None);
        }
        let mut context = parent.clone();
        context.depth += 1;
        context.visible = shown.visible.unwrap_or(parent.visible);
        context.paint = shown.paint.over(parent.paint);
        if matches!(name, "g" | "svg" | "symbol") && parent.depth > 0 {
            if let Some(layer) = layer {
                if !context.around.layer.is_empty() {
                    context.around.layer.push('/');
                }
                context.around.layer.push_str(layer);
            }
            if context.around.layer.len() > self.gather.limits.text {
                return Err(self
                    .gather
                    .limit(super::Limit::Text, format!("line {line}, layer name")));
            }
        }
        self.classes(node, line, &mut context.around);
        for property in NOT_APPLIED {
            if style::property(node, property).is_some_and(|value| !value.is_empty() && value != "none") {
                self.gather
                    .left_out(format!("{property} of {name} (the shape is read whole)"), line);
            }
        }
        if let Some(text) = node.attribute("transform") {
            let Ok(t) = text.parse::<svgtypes::Transform>() else {
                let place = self.place(node);
                self.gather.bad(
                    &place,
                    format!("transform={:?}", cut(text)),
                    "a list of matrix, translate, scale, rotate, skewX, skewY",
                    "correct it, or draw the element again",
                );
                return Ok(None);
            };
            context.map = context.map.after(&Affine::new(t.a, t.b, t.c, t.d, t.e, t.f));
        }
        if style::inline(node, "transform").is_some() || node.has_attribute("transform-origin") {
            self.gather
                .left_out(format!("transform of {name} in its style or with an origin"), line);
        }
        if context.map.is_flat() {
            self.gather
                .left_out(format!("{name} pressed flat by its transform"), line);
            return Ok(None);
        }
        Ok(Some(context))
    }

    /// Counts what is drawn in `node` and not seen, and keeps the names of layers in it.
    fn unseen(&mut self, node: Node<'a, 'input>, why: &str) -> Result<(), ReadError> {
        let line = self.lines.of(node);
        let mut count = 0;
        for inside in node.descendants().filter(|n| is_svg(*n)) {
            self.gather.work(1, line)?;
            if let Some(layer) = layer_name(inside) {
                self.gather.facts().layers.insert(layer.to_owned());
            }
            count += usize::from(DRAWN.contains(&inside.tag_name().name()));
        }
        self.gather.unseen(why, count, line);
        Ok(())
    }

    fn shape(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), ReadError> {
        if !context.visible {
            return self.unseen(node, "hidden");
        }
        if !self.sheet.may_be_seen(context.paint) {
            return self.unseen(node, "with neither fill nor stroke");
        }
        let place = self.place(node);
        match shapes::read(node, context.viewport) {
            Ok(subpaths) => {
                let first = self.gather.strokes();
                subpaths.iter().try_for_each(|part| {
                    self.gather
                        .stroke(&context.map, &part.segments, part.closed, &context.around, &place)
                })?;
                if context.paint.is_fill_alone() {
                    let filled = first..self.gather.strokes();
                    self.gather.facts().filled.extend(filled);
                }
                Ok(())
            }
            Err(bad) => {
                self.gather
                    .bad(&place, bad.found, bad.expected, "correct it, or draw the shape again");
                Ok(())
            }
        }
    }

    fn place(&self, node: Node) -> Place {
        let name = node.tag_name().name();
        Place {
            line: self.lines.of(node),
            what: match node.attribute("id") {
                Some(id) => format!("{name} {:?}", cut(id)),
                None => name.to_owned(),
            },
        }
    }
}

/// A value of an attribute that cannot be read.
#[derive(Debug)]
struct Bad {
    found: String,
    expected: String,
}

impl Bad {
    fn attribute(name: &str, value: &str, expected: &str) -> Self {
        Self {
            found: format!("{name}={:?}", cut(value)),
            expected: expected.to_owned(),
        }
    }
}
