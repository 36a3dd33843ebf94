//! What others published: densities from a table in the data folder, proven lengths from `fixtures/published`.

use super::schema::{Instance, Room};
use anyhow::{Context, Result, ensure};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Name of the table of densities in the data folder.
const DENSITIES: &str = "strip_results.md";

/// Lengths proven to be the least, source units.
const PROVEN_LENGTHS: &str = include_str!("../../../fixtures/published/proven_lengths.csv");

/// Densities from one paper, percent.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Density {
    /// Best of the paper's runs.
    pub best: Option<f64>,
    /// Mean of the paper's runs.
    pub mean: Option<f64>,
}

/// Published figures of one instance.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Figures {
    /// Best density of any paper, percent.
    pub best: Option<f64>,
    /// The 2013 figures (guided cuckoo search).
    pub of_2013: Density,
    /// The 2025 figures.
    pub of_2025: Density,
    /// Density at the optimum where it is proven, percent.
    pub optimum: Option<f64>,
}

/// Published figures by instance.
#[derive(Debug, Clone, Default)]
pub struct Published {
    densities: BTreeMap<String, Vec<(String, Density)>>,
    lengths: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
struct ProvenLength {
    instance: String,
    length: f64,
}

impl Published {
    /// Reads the densities from `strip_results.md` in the first of `places` (or the folder above it) that has one, and the
    /// proven lengths. Without such a table there are no densities.
    ///
    /// # Errors
    /// When the table is there but cannot be read.
    pub fn read(places: &[PathBuf]) -> Result<Self> {
        let table = places
            .iter()
            .flat_map(|place| place.ancestors().take(3))
            .map(|folder| folder.join(DENSITIES))
            .find(|path| path.is_file());
        let densities = match table {
            Some(path) => densities_at(&path)?,
            None => BTreeMap::new(),
        };
        let lengths = csv::Reader::from_reader(PROVEN_LENGTHS.as_bytes())
            .deserialize()
            .map(|row| row.map(|row: ProvenLength| (row.instance, row.length)))
            .collect::<Result<_, _>>()?;
        Ok(Self { densities, lengths })
    }

    /// The figures of `instance`.
    #[must_use]
    pub fn of(&self, instance: &Instance) -> Figures {
        let papers = self.densities.get(&instance.name).map_or(&[][..], Vec::as_slice);
        let in_year = |year: &str| {
            let paper = papers.iter().find(|(paper, _)| paper.contains(year));
            paper.map_or_else(Density::default, |(_, density)| *density)
        };
        let length = instance
            .optimal_length
            .or_else(|| self.lengths.get(&instance.name).copied());
        let optimum = match (instance.room, length) {
            (Room::Strip { height }, Some(length)) => Some(100.0 * instance.area() / (height * length)),
            _ => None,
        };
        Figures {
            best: papers
                .iter()
                .filter_map(|(_, density)| density.best.or(density.mean))
                .reduce(f64::max),
            of_2013: in_year("2013"),
            of_2025: in_year("2025"),
            optimum,
        }
    }
}

fn densities_at(path: &Path) -> Result<BTreeMap<String, Vec<(String, Density)>>> {
    let text = fs::read_to_string(path).with_context(|| format!("reading {}", path.display()))?;
    let found = densities(&text);
    ensure!(
        !found.is_empty(),
        "{}: no table of instances with a column for 2013 and one for 2025",
        path.display()
    );
    Ok(found)
}

/// The rows of the first table whose columns name papers of 2013 and 2025.
fn densities(text: &str) -> BTreeMap<String, Vec<(String, Density)>> {
    let cells = |line: &str| -> Vec<String> {
        line.trim()
            .trim_matches('|')
            .split('|')
            .map(|cell| cell.trim().to_string())
            .collect()
    };
    let mut lines = text
        .lines()
        .skip_while(|line| !(line.starts_with("|instance|") && line.contains("2013") && line.contains("2025")));
    let papers = lines.next().map(cells).unwrap_or_default();
    lines
        .take_while(|line| line.starts_with('|'))
        .filter(|line| !line.starts_with("|-"))
        .map(cells)
        .filter_map(|row| {
            let name = row.first()?.clone();
            let figures = papers.iter().cloned().zip(row.iter().map(|cell| density(cell))).skip(1);
            Some((name, figures.collect()))
        })
        .collect()
}

/// `89.58 R / 87.47 R`: best, then mean, each with a letter for its source; `-` where it is not known.
fn density(cell: &str) -> Density {
    let mut parts = cell.split('/').map(|part| part.split_whitespace().next()?.parse().ok());
    Density {
        best: parts.next().flatten(),
        mean: parts.next().flatten(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn densities_are_read_by_column() {
        let text = "Words.\n\n|instance|A 2006|B 2013 (X)|C 2025|\n|---|---|---|---|\n\
                    |ONE|87.97 M|89.58 R / 87.47 M|- / 88.01 R|\n|TWO|- / -|100.00 M / 99.00 M|- (not run)|\n\n|more|\n";
        let found = densities(text);
        let at = |name: &str| found[name].iter().map(|(_, d)| (d.best, d.mean)).collect::<Vec<_>>();
        assert_eq!(
            at("ONE"),
            [(Some(87.97), None), (Some(89.58), Some(87.47)), (None, Some(88.01))]
        );
        assert_eq!(at("TWO"), [(None, None), (Some(100.0), Some(99.0)), (None, None)]);
        assert_eq!(found.len(), 2);
    }

    #[test]
    fn a_proven_length_is_a_density() -> Result<()> {
        let text = r#"{"name":"THREE","strip_width":4,"pieces":[{"demand":2,"outline":[[0,0],[6,0],[6,2],[0,2]]}]}"#;
        let figures = Published::read(&[])?.of(&Instance::read(text, "f", "d")?);
        assert_eq!((figures.optimum, figures.best), (Some(100.0), None));
        Ok(())
    }
}
