//! Texts (W3C SVG 2, chapter 11): what they say and where their anchor stands; fonts and glyphs are not needed.

use super::view::{self, Along, Viewport};
use super::{Bad, Context, Walk, is_svg};
use crate::read::ReadError;
use cullet_geometry::Point;
use roxmltree::Node;
use svgtypes::LengthListParser;

/// One text: a `tspan` that goes back to the same x starts a new line of it, one placed at another x is a text of its own.
struct Chunk {
    at: Point,
    content: String,
}

impl<'a, 'input: 'a> Walk<'a, 'input> {
    pub(super) fn text(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), ReadError> {
        let mut chunks = vec![Chunk {
            at: Point { x: 0.0, y: 0.0 },
            content: String::new(),
        }];
        self.collect(node, context, &mut chunks)?;
        let place = self.place(node);
        if !context.visible && chunks.iter().all(|chunk| chunk.content.trim().is_empty()) {
            self.gather.unseen("hidden", 1, place.line);
        }
        for chunk in chunks {
            let lines: Vec<String> = chunk
                .content
                .split('\n')
                .map(one_space)
                .filter(|l| !l.is_empty())
                .collect();
            self.gather
                .text(&context.map, chunk.at, &lines.join("\n"), &context.around, &place)?;
        }
        Ok(())
    }

    fn collect(&mut self, node: Node<'a, 'input>, context: &Context, chunks: &mut Vec<Chunk>) -> Result<(), ReadError> {
        if let Err(bad) = position(node, context.viewport, chunks) {
            let place = self.place(node);
            self.gather.bad(&place, bad.found, bad.expected, view::SIZE_HINT);
            return Ok(());
        }
        for child in node.children() {
            if child.is_text() && context.visible {
                if let (Some(chunk), Some(text)) = (chunks.last_mut(), child.text()) {
                    self.gather.work(text.len(), self.lines.of(node))?;
                    chunk
                        .content
                        .extend(text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }));
                }
            } else if is_svg(child) {
                match child.tag_name().name() {
                    "tspan" | "a" => {
                        if let Some(inside) = self.enter(child, context)? {
                            self.collect(child, &inside, chunks)?;
                        }
                    }
                    "title" | "desc" => {}
                    name => self.named(child, context, name)?,
                }
            }
        }
        Ok(())
    }
}

/// Takes x, y, dx and dy of `node` into the chunks.
fn position(node: Node, viewport: Viewport, chunks: &mut Vec<Chunk>) -> Result<(), Bad> {
    let x = first(node, "x", Along::Width, viewport)?;
    let y = first(node, "y", Along::Height, viewport)?;
    let dx = first(node, "dx", Along::Width, viewport)?.unwrap_or(0.0);
    let dy = first(node, "dy", Along::Height, viewport)?.unwrap_or(0.0);
    let Some(chunk) = chunks.last_mut() else { return Ok(()) };
    if chunk.content.trim().is_empty() {
        chunk.at = Point {
            x: x.unwrap_or(chunk.at.x) + dx,
            y: y.unwrap_or(chunk.at.y) + dy,
        };
    } else if x.is_some_and(|x| (x + dx - chunk.at.x).abs() <= 1e-6 * (1.0 + x.abs())) {
        chunk.content.push('\n');
    } else if x.is_some() || y.is_some() {
        let at = Point {
            x: x.unwrap_or(chunk.at.x) + dx,
            y: y.unwrap_or(chunk.at.y) + dy,
        };
        chunks.push(Chunk {
            at,
            content: String::new(),
        });
    }
    Ok(())
}

/// The first of a list of lengths: the others place single glyphs.
fn first(node: Node, name: &str, along: Along, viewport: Viewport) -> Result<Option<f64>, Bad> {
    let Some(text) = node.attribute(name) else {
        return Ok(None);
    };
    match LengthListParser::from(text.trim()).next() {
        None => Ok(None),
        Some(Ok(length)) => Ok(Some(view::to_px(length, along, viewport))),
        Some(Err(_)) => Err(Bad::attribute(name, text, "a number or a list of numbers")),
    }
}

fn one_space(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
