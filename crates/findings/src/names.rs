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
