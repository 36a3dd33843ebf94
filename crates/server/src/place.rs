//! The folder that is served: the only place where a name from outside becomes a path.
//!
//! A name is a relative path of ordinary parts with `/` between them. It never leaves the folder, by `..`, by a link or by a drive
//! letter, and never means a hidden file.

use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

/// The longest name, bytes.
const MOST_NAME: usize = 500;
/// How deep below the folder jobs are looked for.
const DEEPEST: usize = 4;
/// The most entries that are looked at.
const MOST_ENTRIES: usize = 20_000;

/// The folder.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    /// In full, links followed.
    root: PathBuf,
}

/// A name that means nothing in the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Outside;

impl Place {
    pub(crate) fn new(folder: &Path) -> io::Result<Self> {
        Ok(Self {
            root: fs::canonicalize(folder)?,
        })
    }

    pub(crate) fn root(&self) -> &Path {
        &self.root
    }

    /// What the folder is called.
    pub(crate) fn name(&self) -> String {
        let name = self.root.file_name();
        name.map_or_else(|| "workshop".into(), |name| name.to_string_lossy().into_owned())
    }

    /// The path that a name means, whether anything is there or not.
    pub(crate) fn path(&self, name: &str) -> Result<PathBuf, Outside> {
        let is_plain = |part: &Component<'_>| match part {
            Component::Normal(part) => part.to_str().is_some_and(is_plain_part),
            _ => false,
        };
        if name.len() > MOST_NAME || name.ends_with('/') || name.contains("//") {
            return Err(Outside);
        }
        let relative = Path::new(name);
        if name.is_empty() || !relative.components().all(|part| is_plain(&part)) {
            return Err(Outside);
        }
        let path = self.root.join(relative);
        // What is there already must lie in the folder once links are followed; what is not there cannot be a link.
        let there = path
            .ancestors()
            .find(|part| part.symlink_metadata().is_ok())
            .ok_or(Outside)?;
        let full = fs::canonicalize(there).map_err(|_| Outside)?;
        if full.starts_with(&self.root) {
            Ok(path)
        } else {
            Err(Outside)
        }
    }

    /// The same where a folder may be meant too: nothing means the folder itself.
    pub(crate) fn folder(&self, name: &str) -> Result<PathBuf, Outside> {
        if name.is_empty() {
            Ok(self.root.clone())
        } else {
            self.path(name)
        }
    }

    /// The name of a path in the folder, with `/` throughout.
    pub(crate) fn name_of(&self, path: &Path) -> String {
        let inside = path.strip_prefix(&self.root).unwrap_or(path);
        let parts = inside.components().map(|part| part.as_os_str().to_string_lossy());
        parts.collect::<Vec<_>>().join("/")
    }

    /// Words without the folder's own path in front of names.
    pub(crate) fn short(&self, words: &str) -> String {
        let root = self.root.display().to_string();
        words.replace(&format!("{root}/"), "").replace(&root, &self.name())
    }

    /// All files in the folder that are not hidden, as far as links need not be followed, in the order of their names.
    pub(crate) fn files(&self) -> Vec<PathBuf> {
        let (mut found, mut left) = (vec![], MOST_ENTRIES);
        walk(&self.root, 0, &mut left, &mut found);
        found.sort();
        found
    }
}

/// A part of a name that is an ordinary file or folder.
pub(crate) fn is_plain_part(part: &str) -> bool {
    !part.is_empty()
        && !part.starts_with('.')
        && !part.contains(|c: char| c.is_control() || matches!(c, '/' | '\\' | ':' | '\0'))
}

fn walk(folder: &Path, depth: usize, left: &mut usize, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if *left == 0 {
            return;
        }
        *left -= 1;
        let hidden = !entry.file_name().to_str().is_some_and(is_plain_part);
        match entry.file_type() {
            Ok(kind) if kind.is_file() && !hidden => found.push(entry.path()),
            Ok(kind) if kind.is_dir() && !hidden && depth < DEEPEST => walk(&entry.path(), depth + 1, left, found),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_do_not_leave_the_folder() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let inside = home.path().join("in");
        fs::create_dir_all(inside.join("job")).expect("writable");
        fs::write(home.path().join("secret"), "x").expect("writable");
        let place = Place::new(&inside).expect("there");
        for good in ["job/job.json", "a.svg", "größe/ä b.svg", "job"] {
            assert!(place.path(good).is_ok(), "{good}");
        }
        let bad = [
            "",
            "/",
            "..",
            "../secret",
            "job/../../secret",
            "/etc/passwd",
            "job//x",
            "job/",
            ".hidden",
            "job/.cullet-x",
            "a\0b",
            "c:\\x",
            "a\nb",
            "./a",
        ];
        for bad in bad {
            assert_eq!(place.path(bad), Err(Outside), "{bad:?}");
        }
        assert!(place.path(&"a".repeat(MOST_NAME + 1)).is_err());
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(home.path(), inside.join("out")).expect("a link");
            std::os::unix::fs::symlink(home.path().join("nothing"), inside.join("dead")).expect("a link");
            std::os::unix::fs::symlink(inside.join("job"), inside.join("same")).expect("a link");
            assert_eq!(place.path("out/secret"), Err(Outside));
            assert_eq!(place.path("out"), Err(Outside));
            assert_eq!(place.path("dead"), Err(Outside));
            assert!(place.path("same/job.json").is_ok());
        }
    }

    proptest! {
        #[test]
        fn whatever_is_asked_lies_inside(name in "[./a\\\\:~ %]{0,12}") {
            let home = tempfile::tempdir().expect("a temporary folder");
            let place = Place::new(home.path()).expect("there");
            if let Ok(path) = place.path(&name) {
                prop_assert!(path.starts_with(place.root()));
                prop_assert!(!path.components().any(|part| part == Component::ParentDir));
            }
        }
    }
}
