//! What is seen: `display`, `visibility`, fill, stroke and opacity, from attributes, inline styles, and style sheets with plain
//! selectors.

use roxmltree::Node;

/// What an element says of itself; `None` where it says nothing.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Shown {
    pub(super) display: Option<bool>,
    pub(super) visible: Option<bool>,
    /// Whether it is not wholly transparent, with all that is in it.
    pub(super) opaque: Option<bool>,
    pub(super) paint: Paint,
}

/// What an element is painted with; all of it is inherited. Each says whether anything of it is seen.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Paint {
    fill: Option<bool>,
    fill_opacity: Option<bool>,
    stroke: Option<bool>,
    stroke_opacity: Option<bool>,
    stroke_width: Option<bool>,
}

impl Paint {
    pub(super) fn over(self, other: Self) -> Self {
        Self {
            fill: self.fill.or(other.fill),
            fill_opacity: self.fill_opacity.or(other.fill_opacity),
            stroke: self.stroke.or(other.stroke),
            stroke_opacity: self.stroke_opacity.or(other.stroke_opacity),
            stroke_width: self.stroke_width.or(other.stroke_width),
        }
    }

    fn says_something(self) -> bool {
        let all = [
            self.fill,
            self.fill_opacity,
            self.stroke,
            self.stroke_opacity,
            self.stroke_width,
        ];
        all.iter().any(Option::is_some)
    }

    /// Without a word about them a shape is filled and has no stroke (SVG 2, 13.3 and 13.5).
    fn is_seen(self) -> bool {
        self.has_fill() || self.has_stroke()
    }

    /// Filled because the file says so, and without a stroke: what backgrounds are, and what lines are not.
    pub(super) fn is_fill_alone(self) -> bool {
        self.fill.is_some() && self.has_fill() && !self.has_stroke()
    }

    fn has_fill(self) -> bool {
        self.fill != Some(false) && self.fill_opacity != Some(false)
    }

    fn has_stroke(self) -> bool {
        self.stroke == Some(true) && self.stroke_opacity != Some(false) && self.stroke_width != Some(false)
    }
}

impl Shown {
    fn read(declarations: &str) -> Self {
        let mut shown = Self::default();
        for (name, value) in declarations.split(';').filter_map(|d| d.split_once(':')) {
            shown.take(name.trim(), value.split('!').next().unwrap_or("").trim());
        }
        shown
    }

    /// What the attributes of an element say.
    fn attributes(node: Node) -> Self {
        let mut shown = Self::default();
        for attribute in node.attributes().filter(|a| a.namespace().is_none()) {
            shown.take(attribute.name(), attribute.value().trim());
        }
        shown
    }

    fn take(&mut self, name: &str, value: &str) {
        let paint = &mut self.paint;
        match name {
            "display" => self.display = Some(value != "none"),
            "visibility" => self.visible = visibility(value),
            "opacity" => self.opaque = is_above_0(value),
            "fill" => paint.fill = is_paint(value),
            "fill-opacity" => paint.fill_opacity = is_above_0(value),
            "stroke" => paint.stroke = is_paint(value),
            "stroke-opacity" => paint.stroke_opacity = is_above_0(value),
            "stroke-width" => paint.stroke_width = is_above_0(value),
            _ => {}
        }
    }

    fn says_nothing(&self) -> bool {
        let all = [self.display, self.visible, self.opaque];
        all.iter().all(Option::is_none) && !self.paint.says_something()
    }

    fn over(self, other: Self) -> Self {
        Self {
            display: self.display.or(other.display),
            visible: self.visible.or(other.visible),
            opaque: self.opaque.or(other.opaque),
            paint: self.paint.over(other.paint),
        }
    }
}

fn visibility(value: &str) -> Option<bool> {
    match value {
        "visible" => Some(true),
        "hidden" | "collapse" => Some(false),
        _ => None,
    }
}

/// Whether a colour is one: `none` and what is wholly transparent are not (CSS Color 4 for the ways to write it).
fn is_paint(value: &str) -> Option<bool> {
    let last_is_0 = |body: &str| {
        let parts: Vec<&str> = body.trim_end_matches(')').split([',', '/']).collect();
        let has_alpha = parts.len() == 4 || (parts.len() == 2 && body.contains('/'));
        has_alpha && parts.last().is_some_and(|last| is_above_0(last.trim()) == Some(false))
    };
    match value {
        "inherit" | "" => None,
        "none" | "transparent" => Some(false),
        hex if hex.starts_with('#') => {
            let is_clear = (hex.len() == 5 && hex.ends_with('0')) || (hex.len() == 9 && hex.ends_with("00"));
            Some(!is_clear)
        }
        function => match function.split_once('(') {
            Some(("rgb" | "rgba" | "hsl" | "hsla", body)) => Some(!last_is_0(body)),
            _ => Some(true),
        },
    }
}

/// Whether a number or a length is more than 0; `None` where it is neither.
fn is_above_0(value: &str) -> Option<bool> {
    let number = value.trim_end_matches(|c: char| c.is_ascii_alphabetic() || c == '%');
    number.trim().parse::<f64>().ok().map(|number| number > 0.0)
}

/// One plain selector: an element name, an id and classes, each if given.
#[derive(Debug)]
struct Rule {
    element: Option<String>,
    id: Option<String>,
    classes: Vec<String>,
    shown: Shown,
}

impl Rule {
    fn weight(&self) -> (bool, usize, bool) {
        (self.id.is_some(), self.classes.len(), self.element.is_some())
    }

    fn holds(&self, node: Node) -> bool {
        let has_class = |class: &String| {
            node.attribute("class")
                .is_some_and(|c| c.split_ascii_whitespace().any(|c| c == class))
        };
        self.element.as_ref().is_none_or(|name| node.tag_name().name() == name)
            && self.id.as_ref().is_none_or(|id| node.attribute("id") == Some(id))
            && self.classes.iter().all(has_class)
    }
}

/// Rules that are kept; each is tried on each element, and drawings have a handful.
const MOST_RULES: usize = 200;

/// The rules that hide or show something.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    rules: Vec<Rule>,
    /// Whether rules that are not applied paint something: nothing is then left out for want of paint.
    is_paint_unknown: bool,
}

impl Sheet {
    /// Adds a sheet's rules; gives back selectors that would hide or show something and are not plain, and those that are too
    /// many.
    pub(super) fn add(&mut self, css: &str) -> Vec<String> {
        let mut not_applied = vec![];
        for (selectors, declarations) in blocks(&without_comments(css)) {
            let shown = Shown::read(declarations);
            if shown.says_nothing() {
                continue;
            }
            for selector in selectors.split(',').map(str::trim).filter(|s| !s.is_empty()) {
                match plain(selector, shown) {
                    Some(rule) if self.rules.len() < MOST_RULES => self.rules.push(rule),
                    rule => {
                        self.is_paint_unknown |= shown.paint.says_something();
                        let hides = shown.display.is_some() || shown.visible.is_some() || shown.opaque == Some(false);
                        if hides || rule.is_some() {
                            not_applied.push(super::cut(selector));
                        }
                    }
                }
            }
        }
        // Stable: of equal weight the later rule stays later and wins.
        self.rules.sort_by_key(Rule::weight);
        not_applied
    }

    /// Whether something painted so may be seen.
    pub(super) fn may_be_seen(&self, paint: Paint) -> bool {
        self.is_paint_unknown || paint.is_seen()
    }

    pub(super) fn shown(&self, node: Node) -> Shown {
        let inline = node.attribute("style").map(Shown::read).unwrap_or_default();
        let attributes = Shown::attributes(node);
        let rules = self
            .rules
            .iter()
            .filter(|rule| rule.holds(node))
            .fold(attributes, |before, rule| rule.shown.over(before));
        inline.over(rules)
    }
}

/// The value of a property in an inline style.
pub(super) fn inline<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    let style = node.attribute("style")?;
    style
        .split(';')
        .filter_map(|d| d.split_once(':'))
        .find(|(n, _)| n.trim() == name)
        .map(|(_, value)| value.trim())
}

/// The value of a property, inline or as an attribute.
pub(super) fn property<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    inline(node, name).or_else(|| node.attribute(name).map(str::trim))
}

fn without_comments(css: &str) -> String {
    let mut kept = String::with_capacity(css.len());
    let mut rest = css;
    while let Some((before, after)) = rest.split_once("/*") {
        kept.push_str(before);
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    kept + rest
}

/// Selectors and declarations of each rule. Of at-rules only what stands outside their braces is read, so a sheet for
/// print does not hide what is on the screen.
fn blocks(css: &str) -> Vec<(&str, &str)> {
    let mut found = vec![];
    let mut rest = css;
    while let Some((head, after)) = rest.split_once('{') {
        let head = head.rsplit(['}', ';']).next().unwrap_or("").trim();
        let end = if head.starts_with('@') {
            matching_brace(after)
        } else {
            after.find('}')
        };
        let Some(end) = end else { break };
        if !head.starts_with('@') {
            found.push((head, &after[..end]));
        }
        rest = &after[end + 1..];
    }
    found
}

fn matching_brace(text: &str) -> Option<usize> {
    let mut open = 1_usize;
    for (i, byte) in text.bytes().enumerate() {
        match byte {
            b'{' => open += 1,
            b'}' if open == 1 => return Some(i),
            b'}' => open -= 1,
            _ => {}
        }
    }
    None
}

fn plain(selector: &str, shown: Shown) -> Option<Rule> {
    let is_name = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || !c.is_ascii();
    let mut rule = Rule {
        element: None,
        id: None,
        classes: vec![],
        shown,
    };
    let first = selector.find(['.', '#']).unwrap_or(selector.len());
    let (element, mut rest) = selector.split_at(first);
    if !element.is_empty() && element != "*" {
        rule.element = Some(element.chars().all(is_name).then(|| element.to_owned())?);
    }
    while let Some(mark) = rest.chars().next() {
        let end = rest[1..].find(['.', '#']).map_or(rest.len(), |i| i + 1);
        let name = &rest[1..end];
        if name.is_empty() || !name.chars().all(is_name) {
            return None;
        }
        if mark == '#' {
            rule.id = Some(name.to_owned());
        } else {
            rule.classes.push(name.to_owned());
        }
        rest = &rest[end..];
    }
    Some(rule)
}
