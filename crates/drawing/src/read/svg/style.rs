//! What `display` and `visibility` hide: attributes, inline styles, and style sheets with plain selectors.

use roxmltree::Node;

/// What an element says of itself.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Shown {
    pub(super) display: Option<bool>,
    pub(super) visible: Option<bool>,
}

impl Shown {
    fn read(declarations: &str) -> Self {
        let mut shown = Self::default();
        for (name, value) in declarations.split(';').filter_map(|d| d.split_once(':')) {
            let value = value.split('!').next().unwrap_or("").trim();
            match name.trim() {
                "display" => shown.display = Some(value != "none"),
                "visibility" => shown.visible = visibility(value),
                _ => {}
            }
        }
        shown
    }

    fn over(self, other: Self) -> Self {
        Self {
            display: self.display.or(other.display),
            visible: self.visible.or(other.visible),
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
pub(super) struct Sheet(Vec<Rule>);

impl Sheet {
    /// Adds a sheet's rules; gives back selectors that would hide or show something and are not plain or too
    /// many.
    pub(super) fn add(&mut self, css: &str) -> Vec<String> {
        let mut not_plain = vec![];
        for (selectors, declarations) in blocks(&without_comments(css)) {
            let shown = Shown::read(declarations);
            if shown.display.is_none() && shown.visible.is_none() {
                continue;
            }
            for selector in selectors.split(',').map(str::trim).filter(|s| !s.is_empty()) {
                match plain(selector, shown) {
                    Some(rule) if self.0.len() < MOST_RULES => self.0.push(rule),
                    _ => not_plain.push(super::cut(selector)),
                }
            }
        }
        // Stable: of equal weight the later rule stays later and wins.
        self.0.sort_by_key(Rule::weight);
        not_plain
    }

    pub(super) fn shown(&self, node: Node) -> Shown {
        let inline = node.attribute("style").map(Shown::read).unwrap_or_default();
        let attributes = Shown {
            display: node.attribute("display").map(|v| v.trim() != "none"),
            visible: node.attribute("visibility").and_then(|v| visibility(v.trim())),
        };
        let rules = self
            .0
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
