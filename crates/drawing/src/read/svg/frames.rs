//! Frames: the root with its size and pages, frames inside it, and what is drawn by reference.

use super::*;

impl<'a, 'input: 'a> Walk<'a, 'input> {
    pub(super) fn root(
        &mut self,
        node: Node<'a, 'input>,
        unit_mm: Option<f64>,
        per_inch: Option<u32>,
    ) -> Result<(), ReadError> {
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
    pub(super) fn read_pages(&mut self, root: Node<'a, 'input>, map: &Affine) {
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

    /// A nested svg or a symbol; `size` is the width and height that a `use` gives it.
    pub(super) fn framed(
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

    pub(super) fn through_use(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), ReadError> {
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
}
