//! A plan's files for the cutting table: written to a folder of their own, or one of them read back and held against its sheet.

use crate::folder::names::PLAN;
use crate::on_table::{ForTable, NotMade};
use crate::plan::{faulty, layouts};
use crate::shop::{self, WhichShop};
use crate::writing::{Care, NotWritten, cannot_write, in_place};
use crate::{Error, book, reading};
use cullet_job::{Finding, Findings, Shop, TableFile, TableFormat};
use cullet_model::{Layout, Plan};
use std::fs;
use std::path::{Path, PathBuf};

/// A plan that passes, and the table that its shop has.
#[derive(Debug)]
pub struct PlanAndTable {
    path: PathBuf,
    plan: Plan,
    shop: Shop,
    table: TableFile,
}

/// The files of some sheets, before they are written.
#[derive(Debug, Default)]
pub struct TableFiles {
    /// Name and content.
    pub files: Vec<(String, String)>,
    /// The number of each sheet, and what its scores come to, in a sentence.
    pub words: Vec<(u32, String)>,
    /// Scores that grow old.
    pub warnings: Vec<String>,
}

/// What a file for the table came to when it was read back.
#[derive(Debug)]
pub struct Checked<'a> {
    /// Its sheet.
    pub layout: &'a Layout,
    /// What is wrong with it, a line each.
    pub faults: Vec<String>,
}

impl PlanAndTable {
    /// Reads a plan and the shop file with its table; `sheets` are the maps that will be asked for.
    ///
    /// # Errors
    /// A plan that fails its check, no shop file, no table in it, no such map.
    pub fn read(path: &Path, shop: &WhichShop, sheets: &[u32]) -> Result<Self, Error> {
        let (plan, _) = reading::plan(path)?;
        let Some(shop) = shop::read(path, shop)? else {
            return Err(finding(
                path,
                "shop file",
                "none beside the plan or in a folder above it".into(),
                "a shop file with a \"table\"",
                "Name it with --shop.",
            )
            .into());
        };
        let Some(table) = shop.table().cloned() else {
            return Err(finding(
                Path::new(shop.file()),
                "field \"table\"",
                "no table".into(),
                "the cutting table that files are for",
                "Describe it: its size, its wheel, its speeds and its own lines (cullet schema shop).",
            )
            .into());
        };
        let path = path.to_owned();
        let read = Self {
            path,
            plan,
            shop,
            table,
        };
        for number in sheets {
            read.layout(*number)?;
        }
        let faults = book::faults(&read.path, &read.plan);
        if faults.is_empty() {
            Ok(read)
        } else {
            Err(Error::DoesNotHold(faults))
        }
    }

    fn layout(&self, number: u32) -> Result<&Layout, Finding> {
        let found = layouts(&self.plan).find(|layout| layout.number == number);
        found.ok_or_else(|| {
            let count = layouts(&self.plan).count();
            finding(
                &self.path,
                "sheet maps",
                format!("no map {number}"),
                &format!("a map from 1 to {count}"),
                "The number stands on the sheet map, at the top on the right.",
            )
        })
    }

    /// The files of the sheets with these numbers, of all where there is no number.
    ///
    /// # Errors
    /// A sheet that the table cannot score, or a file that does not score what it should.
    pub fn files(&self, sheets: &[u32]) -> Result<TableFiles, Error> {
        let is_asked = |layout: &&Layout| sheets.is_empty() || sheets.contains(&layout.number);
        let mut all = TableFiles::default();
        for layout in layouts(&self.plan).filter(is_asked) {
            match ForTable::of(&self.plan, layout).make(&self.table) {
                Ok(made) => {
                    all.warnings.extend(made.warning);
                    all.words.push((layout.number, made.words));
                    all.files.extend(made.files);
                }
                Err(NotMade::Cannot(error)) => {
                    return Err(finding(
                        &self.path,
                        &format!("map {}, tag {}", layout.number, layout.stock.tag),
                        error.to_string(),
                        "a sheet that the table can score",
                        "Choose another table or another sheet, or break this one by hand from its map.",
                    )
                    .into());
                }
                Err(NotMade::Faults(name, faults)) => return Err(faulty(name, &faults)),
            }
        }
        Ok(all)
    }

    /// Writes the files into `out`, all of them or none.
    ///
    /// # Errors
    /// The plan's own folder, files in the way, or a disk that does not take them.
    pub fn write(&self, files: &TableFiles, out: &Path, replace: bool) -> Result<(), Error> {
        let same = |a: &Path, b: &Path| matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b);
        let own = self
            .path
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty())
            .unwrap_or(Path::new("."));
        if same(own, out) && self.path.file_name().is_some_and(|name| name == PLAN) {
            return Err(finding(
                out,
                "folder to write to",
                "the plan's own folder".into(),
                "another folder",
                "Its files belong to the plan; choose another folder with --out.",
            )
            .into());
        }
        let care = Care::new([self.path.clone(), self.shop.file().into()], replace);
        let (mut places, mut refused) = (vec![], vec![]);
        for (name, text) in &files.files {
            // Without a mark, which tables would stumble over, only the very same file is known as the program's own.
            match care.place(&out.join(name), |bytes| bytes == text.as_bytes()) {
                Ok(place) => places.push((place, text)),
                Err(finding) => refused.push(finding),
            }
        }
        if !refused.is_empty() {
            return Err(Findings(refused).into());
        }
        let cannot = |error| NotWritten::CannotWrite(cannot_write(out, &error));
        let putting = in_place();
        fs::create_dir_all(out).map_err(cannot)?;
        for (place, text) in places {
            place.write(text.as_bytes()).map_err(cannot)?;
        }
        putting.done();
        Ok(())
    }

    /// Reads a file back and holds it against its sheet: `sheet`, or the one that its name says.
    ///
    /// # Errors
    /// A name that does not say what the file is, no such map, a file that cannot be read.
    pub fn check(&self, file: &Path, sheet: Option<u32>) -> Result<Checked<'_>, Error> {
        let name = file.file_name().unwrap_or_default();
        let name = name.to_string_lossy().to_ascii_lowercase();
        let no_name =
            |expected: &str, hint: &str| finding(file, "its name", name.escape_debug().to_string(), expected, hint);
        let format = match name.rsplit_once('.') {
            Some((_, "dxf")) => TableFormat::Dxf,
            Some((_, "ngc" | "nc" | "tap" | "gcode")) => TableFormat::Ngc,
            _ => {
                let hint = "Name the file as it was written: sheet-2.ngc, sheet-2.dxf.";
                return Err(no_name("one that ends in .ngc or .dxf", hint).into());
            }
        };
        let digits = name
            .strip_prefix("sheet-")
            .and_then(|rest| rest.split(['.', '-']).next());
        let Some(number) = sheet.or_else(|| digits?.parse().ok()) else {
            return Err(no_name("sheet-N.ngc or sheet-N.dxf", "Say which map it is for with --sheet.").into());
        };
        let text = reading::text(file, "a file for a cutting table")?;
        let layout = self.layout(number)?;
        let faults = ForTable::of(&self.plan, layout).faults(format, &text, &self.table);
        Ok(Checked {
            layout,
            faults: faults
                .iter()
                .map(|fault| format!("{}: {fault}", file.display()))
                .collect(),
        })
    }
}

fn finding(file: &Path, place: &str, found: String, expected: &str, hint: &str) -> Finding {
    Finding {
        file: file.display().to_string(),
        place: place.into(),
        found,
        expected: expected.into(),
        hint: hint.into(),
    }
}
