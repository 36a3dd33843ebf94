//! SVG (W3C SVG 2) to strokes and texts: the walk over its elements. Lengths and viewports are in [`view`], shapes in
//! [`shapes`], path data in [`path`], texts in [`text`], visibility in [`style`].

mod depth;
mod entities;
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
use std::borrow::Cow;
use std::collections::BTreeMap;
use style::{Paint, Sheet};
use view::Viewport;

const SVG_SPACE: &str = "http://www.w3.org/2000/svg";
const LINK_SPACE: &str = "http://www.w3.org/1999/xlink";

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

fn xml_error(error: &roxmltree::Error, gather: &Gather, lines: &Lines) -> ReadError {
    use roxmltree::Error;
    match error {
        Error::NodesLimitReached | Error::AttributesLimitReached | Error::NamespacesLimitReached => {
            gather.limit(super::Limit::Elements, "the file")
        }
        Error::UnclosedRootNode | Error::UnexpectedEndOfStream => ReadError::Truncated {
            line: lines.last(),
            inside: "the outermost element".to_owned(),
        },
        _ => ReadError::Xml {
            line: error.pos().row,
            reason: error.to_string(),
        },
    }
}

/// UTF-8, UTF-16 with a byte order mark, or what the XML declaration says if that is Latin-1.
fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    for (mark, read) in [
        ([0xff, 0xfe], u16::from_le_bytes as fn([u8; 2]) -> u16),
        ([0xfe, 0xff], u16::from_be_bytes),
    ] {
        if let Some(rest) = bytes.strip_prefix(&mark) {
            let units: Vec<u16> = rest.chunks_exact(2).map(|pair| read([pair[0], pair[1]])).collect();
            return String::from_utf16(&units)
                .map(Cow::Owned)
                .map_err(|_| ReadError::Encoding {
                    line: 1,
                    expected: "UTF-16".to_owned(),
                });
        }
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map(Cow::Borrowed).or_else(|error| {
        let head = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).to_ascii_lowercase();
        if ["iso-8859-1", "latin1", "windows-1252"]
            .iter()
            .any(|name| head.contains(name))
        {
            return Ok(Cow::Owned(bytes.iter().copied().map(char::from).collect()));
        }
        let before = &bytes[..error.valid_up_to()];
        Err(ReadError::Encoding {
            line: line_number(before.iter().filter(|b| **b == b'\n').count()),
            expected: "UTF-8".to_owned(),
        })
    })
}

fn line_number(ends_before: usize) -> u32 {
    u32::try_from(ends_before + 1).unwrap_or(u32::MAX)
}

/// Where lines end, to give a byte's line in O(log n).
struct Lines(Vec<usize>);

impl Lines {
    fn new(source: &str) -> Self {
        Self(
            source
                .bytes()
                .enumerate()
                .filter(|(_, b)| *b == b'\n')
                .map(|(i, _)| i)
                .collect(),
        )
    }

    fn at(&self, byte: usize) -> u32 {
        line_number(self.0.partition_point(|end| *end < byte))
    }

    fn of(&self, node: Node) -> u32 {
        self.at(node.range().start)
    }

    fn last(&self) -> u32 {
        line_number(self.0.len())
    }
}

/// An element of SVG; files written by hand may leave the namespace out.
fn is_svg(node: Node) -> bool {
    node.is_element() && matches!(node.tag_name().namespace(), None | Some(SVG_SPACE))
}

/// Elements that show nothing where they stand: descriptions, and definitions that others refer to.
const SHOWS_NOTHING: [&str; 22] = [
    "defs",
    "title",
    "desc",
    "metadata",
    "style",
    "script",
    "symbol",
    "marker",
    "clipPath",
    "mask",
    "pattern",
    "linearGradient",
    "radialGradient",
    "filter",
    "font",
    "font-face",
    "color-profile",
    "cursor",
    "view",
    "stop",
    "solidcolor",
    "solidColor",
];
/// Elements that draw lines or a text.
const DRAWN: [&str; 8] = [
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text",
];
/// Properties whose effect on what shows is not read.
const NOT_APPLIED: [&str; 6] = [
    "clip-path",
    "mask",
    "marker",
    "marker-start",
    "marker-mid",
    "marker-end",
];

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

    fn root(&mut self, node: Node<'a, 'input>, unit_mm: Option<f64>, per_inch: Option<u32>) -> Result<(), ReadError> {
        let place = self.place(node);
        let mut context = Context {
            map: Affine::scale(view::MM_PER_PX, -view::MM_PER_PX),
            viewport: Viewport {
                width: 0.0,
                height: 0.0,
            },
            around: Around::default(),
            visible: true,
            paint: Paint::default(),
            depth: 0,
        };
        let frame = match view::outermost(node) {
            Ok(frame) => frame,
            Err(bad) => {
                self.gather.bad(&place, bad.found, bad.expected, view::SIZE_HINT);
                return Ok(());
            }
        };
        if let Some(unit) = unit_mm {
            context.map = Affine::scale(unit, -unit);
        }
        let Some(mut context) = self.enter(node, &context)? else {
            return Ok(());
        };
        // The root's own transform lies outside its viewBox (SVG 2, 8.5).
        context.viewport = frame.viewport;
        let facts = self.gather.facts();
        match unit_mm {
            Some(unit_mm) => facts.scale.unit_mm = unit_mm,
            None => {
                context.map = context.map.after(&frame.map);
                facts.scale = Scale {
                    unit_mm: frame.map.a * view::MM_PER_PX,
                    stated: stated(node, per_inch),
                };
            }
        }
        self.read_pages(node, &context.map);
        self.children(node, &context)
    }

    /// The pages that a drawing program names: elements `page` of another namespace, with their box in user units.
    fn read_pages(&mut self, root: Node<'a, 'input>, map: &Affine) {
        let pages = root
            .descendants()
            .filter(|n| n.tag_name().name() == "page" && !is_svg(*n) && n.is_element());
        let pages: Vec<Page> = pages
            .take(MOST_PAGES)
            .filter_map(|page| {
                let number = |name| {
                    page.attribute(name)?
                        .trim()
                        .parse::<f64>()
                        .ok()
                        .filter(|n| n.is_finite())
                };
                let (x, y, w, h) = (number("x")?, number("y")?, number("width")?, number("height")?);
                let (a, b) = (map.point(Point { x, y }), map.point(Point { x: x + w, y: y + h }));
                let label = page
                    .attributes()
                    .find(|a| a.name() == "label")
                    .map_or("", |a| a.value());
                Some(Page {
                    name: cut(label),
                    low: Point {
                        x: a.x.min(b.x),
                        y: a.y.min(b.y),
                    },
                    high: Point {
                        x: a.x.max(b.x),
                        y: a.y.max(b.y),
                    },
                })
            })
            .collect();
        self.gather.facts().pages = pages
            .into_iter()
            .enumerate()
            .map(|(i, page)| match page.name.as_str() {
                "" => Page {
                    name: (i + 1).to_string(),
                    ..page
                },
                _ => page,
            })
            .collect();
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
        for class in node.attribute("class").unwrap_or("").split_ascii_whitespace() {
            if context.around.classes.iter().any(|c| c == class) {
                continue;
            }
            if context.around.classes.len() == MOST_CLASSES || class.len() > self.gather.limits.text {
                self.gather.left_out(
                    format!("classes of {name} past the {MOST_CLASSES}th, or too long"),
                    line,
                );
                break;
            }
            self.gather.facts().layers.insert(class.to_owned());
            context.around.classes.push(class.to_owned());
        }
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

    /// A nested svg or a symbol; `size` is the width and height that a `use` gives it.
    fn framed(
        &mut self,
        node: Node<'a, 'input>,
        context: &Context,
        by: Option<Node<'a, 'input>>,
    ) -> Result<(), ReadError> {
        match view::nested(node, by, context.viewport) {
            Ok(Some(frame)) => {
                let inside = Context {
                    map: context.map.after(&frame.map),
                    viewport: frame.viewport,
                    ..context.clone()
                };
                self.children(node, &inside)
            }
            Ok(None) => Ok(()),
            Err(bad) => {
                let place = self.place(node);
                self.gather.bad(&place, bad.found, bad.expected, view::SIZE_HINT);
                Ok(())
            }
        }
    }

    fn through_use(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), ReadError> {
        let line = self.lines.of(node);
        let href = node
            .attribute("href")
            .or_else(|| node.attribute((LINK_SPACE, "href")))
            .unwrap_or("")
            .trim();
        if href.is_empty() {
            return Ok(());
        }
        let Some(target) = href.strip_prefix('#').and_then(|id| self.ids.get(id).copied()) else {
            self.gather
                .left_out(format!("use of {:?}, which is not in the file", cut(href)), line);
            return Ok(());
        };
        if self.uses.contains(&target) || node.ancestors().any(|a| a == target) {
            self.gather
                .left_out(format!("use of {:?} inside itself", cut(href)), line);
            return Ok(());
        }
        let (x, y) = match (
            view::length(node, "x", view::Along::Width, context.viewport),
            view::length(node, "y", view::Along::Height, context.viewport),
        ) {
            (Ok(x), Ok(y)) => (x.unwrap_or(0.0), y.unwrap_or(0.0)),
            (Err(bad), _) | (_, Err(bad)) => {
                let place = self.place(node);
                self.gather.bad(&place, bad.found, bad.expected, view::SIZE_HINT);
                return Ok(());
            }
        };
        let inside = Context {
            map: context.map.after(&Affine::shift(x, y)),
            ..context.clone()
        };
        self.uses.push(target);
        let done = match target.tag_name().name() {
            "symbol" | "svg" if is_svg(target) => match self.enter(target, &inside)? {
                Some(entered) => self.framed(target, &entered, Some(node)),
                None => Ok(()),
            },
            _ => self.element(target, &inside),
        };
        self.uses.pop();
        done
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

/// The name of a group: its label, else its id.
fn layer_name<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    if !matches!(node.tag_name().name(), "g" | "svg" | "symbol") {
        return None;
    }
    let mut labels = node
        .attributes()
        .filter(|a| a.name() == "label" && a.namespace().is_some());
    let label = labels.next().map(|a| a.value()).filter(|label| !label.is_empty());
    label.or(node.attribute("id"))
}

/// The child of a `switch` that is drawn: the first that asks for no extension.
fn is_chosen(node: Node) -> bool {
    is_svg(node)
        && node.tag_name().name() != "foreignObject"
        && node.attribute("requiredExtensions").is_none_or(|e| e.trim().is_empty())
}

/// A value as it is quoted in messages: its first 40 characters.
fn cut(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
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
