//! Which known name a mistyped one was meant to be.

/// The known name nearest to `word`, where it is near enough to be a slip of the hand: at most a third of its letters wrong
/// (one in a short word), upper and lower case alike.
///
/// ```
/// assert_eq!(cullet_findings::nearest_name("thicknes", ["name", "thickness"]), Some("thickness"));
/// assert_eq!(cullet_findings::nearest_name("colour", ["name", "thickness"]), None);
/// ```
#[must_use]
pub fn nearest_name<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    if word.chars().count() > 100 {
        return None;
    }
    known
        .into_iter()
        .map(|name| (strsim::osa_distance(&word, &name.to_lowercase()), name))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, name)| *distance <= (name.chars().count() / 3).max(1) && *distance < word.chars().count())
        .map(|(_, name)| name)
}

/// `Did you mean "x"? ` where a known name is near, nothing otherwise.
#[must_use]
pub fn did_you_mean<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest_name(word, known).map_or_else(String::new, |name| format!("Did you mean \"{name}\"? "))
}

/// A number of things in words: one of it, or several.
///
/// ```
/// use cullet_findings::counted;
/// assert_eq!(counted(1, "piece"), "1 piece");
/// assert_eq!(counted(0, "glass"), "0 glasses");
/// assert_eq!(counted(2, "copy"), "2 copies");
/// assert_eq!(counted(3, "sheet or offcut"), "3 sheets and offcuts");
/// ```
#[must_use]
pub fn counted<N: std::fmt::Display + PartialEq + From<u8>>(count: N, what: &str) -> String {
    if count == N::from(1) {
        return format!("1 {what}");
    }
    let several = |word: &str| match word.strip_suffix('y') {
        Some(stem) => format!("{stem}ies"),
        None if word.ends_with('s') => format!("{word}es"),
        None => format!("{word}s"),
    };
    let words: Vec<String> = what.split(" or ").map(several).collect();
    format!("{count} {}", words.join(" and "))
}
