//! Finding instance files: named directly, or anywhere below a folder.

use super::schema::Instance;
use anyhow::{Context, Result, bail, ensure};
use flate2::read::GzDecoder;
use std::collections::BTreeSet;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Every instance found in `places`, in order of path; of those with the same name only the first. Where `only` is not
/// empty, just those whose name, file or folder is in it, whatever the case of the letters.
///
/// # Errors
/// When a place cannot be read, a file is no instance, a name in `only` matches nothing, or nothing is left.
pub fn instances(places: &[PathBuf], only: &[String]) -> Result<Vec<Instance>> {
    let mut found = Vec::new();
    for place in places {
        for path in files(place)? {
            found.extend(read(&path)?);
        }
    }
    for wanted in only {
        ensure!(
            found.iter().any(|instance| is_called(instance, wanted)),
            "no instance, file or folder is called {wanted}"
        );
    }
    let mut seen = BTreeSet::new();
    found.retain(|instance| {
        (only.is_empty() || only.iter().any(|wanted| is_called(instance, wanted))) && seen.insert(instance.name.clone())
    });
    ensure!(!found.is_empty(), "no instance was found in {places:?}");
    Ok(found)
}

fn is_called(instance: &Instance, wanted: &str) -> bool {
    [&instance.name, &instance.file, &instance.folder]
        .iter()
        .any(|name| name.eq_ignore_ascii_case(wanted))
}

/// `place` itself if it is a file, else the instance files below it.
fn files(place: &Path) -> Result<Vec<PathBuf>> {
    if place.is_file() {
        return Ok(vec![place.to_path_buf()]);
    }
    let mut paths = Vec::new();
    let entries = fs::read_dir(place).with_context(|| format!("reading {}", place.display()))?;
    for entry in entries {
        let path = entry?.path();
        if path.is_dir() {
            paths.extend(files(&path)?);
        } else if Form::of(&path).is_some() {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

/// How a file holds instances.
#[derive(Clone, Copy)]
enum Form {
    /// One instance.
    One,
    /// One a line.
    Lines,
    /// One a line, compressed.
    PackedLines,
}

impl Form {
    fn of(path: &Path) -> Option<Self> {
        let name = path.file_name()?.to_str()?;
        [
            (".json", Self::One),
            (".jsonl", Self::Lines),
            (".jsonl.gz", Self::PackedLines),
        ]
        .into_iter()
        .find(|(ending, _)| name.ends_with(ending))
        .map(|(_, form)| form)
    }
}

fn read(path: &Path) -> Result<Vec<Instance>> {
    let at = || format!("reading {}", path.display());
    let Some(form) = Form::of(path) else {
        bail!("{}: not a .json, .jsonl or .jsonl.gz file", path.display());
    };
    let bytes = fs::read(path).with_context(at)?;
    let text = match form {
        Form::One | Form::Lines => String::from_utf8(bytes).with_context(at)?,
        Form::PackedLines => {
            let mut text = String::new();
            GzDecoder::new(bytes.as_slice())
                .read_to_string(&mut text)
                .with_context(at)?;
            text
        }
    };
    let name = |path: Option<&Path>| {
        let name = path.and_then(Path::file_name).unwrap_or_default().to_string_lossy();
        name.split('.').next().unwrap_or_default().to_string()
    };
    let (file, folder) = (name(Some(path)), name(path.parent()));
    match form {
        Form::One => Ok(vec![Instance::read(&text, &file, &folder).with_context(at)?]),
        Form::Lines | Form::PackedLines => text
            .lines()
            .enumerate()
            .filter(|(_, line)| !line.trim().is_empty())
            .map(|(i, line)| {
                Instance::read(line, &file, &folder).with_context(|| format!("{}, line {}", path.display(), i + 1))
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write;

    fn instance(name: &str) -> String {
        format!(r#"{{"name":"{name}","strip_width":5,"pieces":[{{"demand":1,"outline":[[0,0],[1,0],[1,1],[0,1]]}}]}}"#)
    }

    #[test]
    fn files_of_every_form_are_found_below_a_folder() -> Result<()> {
        let folder = tempfile::tempdir()?;
        let below = folder.path().join("strip");
        fs::create_dir(&below)?;
        fs::write(below.join("ONE.json"), instance("ONE"))?;
        fs::write(
            folder.path().join("some.jsonl"),
            [instance("TWO"), instance("ONE")].join("\n"),
        )?;
        let mut packed = GzEncoder::new(
            fs::File::create(folder.path().join("more.jsonl.gz"))?,
            Compression::fast(),
        );
        packed.write_all(instance("THREE").as_bytes())?;
        packed.finish()?;
        fs::write(folder.path().join("README.md"), "not an instance")?;

        let places = [folder.path().to_path_buf()];
        let names = |only: &[&str]| -> Result<Vec<String>> {
            let only: Vec<String> = only.iter().map(ToString::to_string).collect();
            Ok(instances(&places, &only)?.into_iter().map(|i| i.name).collect())
        };
        assert_eq!(names(&[])?, ["THREE", "TWO", "ONE"]);
        assert_eq!(names(&["strip"])?, ["ONE"]);
        assert_eq!(names(&["two", "MORE"])?, ["THREE", "TWO"]);
        assert!(names(&["four"]).is_err());
        assert!(instances(&[folder.path().join("README.md")], &[]).is_err());
        assert!(instances(&[folder.path().join("none")], &[]).is_err());
        Ok(())
    }
}
