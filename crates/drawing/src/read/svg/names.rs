//! Names that SVG gives to elements: what is drawn, what shows nothing, what is not applied.

use roxmltree::Node;

pub(super) const SVG_SPACE: &str = "http://www.w3.org/2000/svg";

pub(super) const LINK_SPACE: &str = "http://www.w3.org/1999/xlink";

/// An element of SVG; files written by hand may leave the namespace out.
pub(super) fn is_svg(node: Node) -> bool {
    node.is_element() && matches!(node.tag_name().namespace(), None | Some(SVG_SPACE))
}

/// Elements that show nothing where they stand: descriptions, and definitions that others refer to.
pub(super) const SHOWS_NOTHING: [&str; 22] = [
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
pub(super) const DRAWN: [&str; 8] = [
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text",
];

/// Properties whose effect on what shows is not read.
pub(super) const NOT_APPLIED: [&str; 6] = [
    "clip-path",
    "mask",
    "marker",
    "marker-start",
    "marker-mid",
    "marker-end",
];

/// The name of a group: its label, else its id.
pub(super) fn layer_name<'a>(node: Node<'a, '_>) -> Option<&'a str> {
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
pub(super) fn is_chosen(node: Node) -> bool {
    is_svg(node)
        && node.tag_name().name() != "foreignObject"
        && node.attribute("requiredExtensions").is_none_or(|e| e.trim().is_empty())
}

/// A value as it is quoted in messages: its first 40 characters.
pub(super) fn cut(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
