//! Lists in and out, and labels.

use crate::Session;
use crate::arguments::{PaperName, RackFile};
use cullet_job::{Finding, Findings, counted};
use cullet_output::labels::{self, Label, Paper};
use cullet_output::offcut_name;
use cullet_rack::{Lines, Rack, RackItem, Signs, State, StockKind, Which, write_csv};
use cullet_workshop::writing::{self, Care, Kind, NotWritten, in_place};
use cullet_workshop::{Error, reading};
use std::path::Path;

pub(super) fn import(file: &RackFile, list: &Path, session: &mut Session<'_>) -> Result<(), Error> {
    let text = reading::text(list, "a stock list (CSV)")?;
    let lines = Lines::read_csv(&list.display().to_string(), &text)?;
    let putting = in_place();
    let tags = Rack::import_into(&file.path, &lines, &session.stamp())?;
    putting.done();
    session.done();
    session.print(&format!(
        "Entered: {}, each with its tag\n",
        counted(tags.len(), "sheet or offcut")
    ));
    Ok(())
}

pub(super) fn export(
    file: &RackFile,
    list: Option<&Path>,
    signs: Signs,
    care: &Care,
    session: &mut Session<'_>,
) -> Result<(), Error> {
    let items = Rack::open_to_read(&file.path)?.list(&Which::default())?;
    let text = write_csv(&items, signs);
    match list {
        None => session.print_data(&text),
        Some(list) => {
            care.put(list, &text, Kind::Csv)?;
            session.print(&format!(
                "Written: {}, {}\n",
                list.display(),
                counted(items.len(), "line")
            ));
        }
    }
    Ok(())
}

pub(super) fn labels(
    file: &RackFile,
    tags: &[String],
    (out, care): (&Path, &Care),
    paper: PaperName,
    session: &mut Session<'_>,
) -> Result<(), Error> {
    care.may_put(out).map_err(NotWritten::from)?;
    let mut rack = Rack::open_to_read(&file.path)?;
    let items: Vec<RackItem> = if tags.is_empty() {
        let all = rack.list(&Which::default())?;
        let is_offcut = |item: &RackItem| item.stock.kind == StockKind::Offcut && item.state == State::OnRack;
        all.into_iter().filter(is_offcut).collect()
    } else {
        tags.iter().map(|tag| rack.get(tag)).collect::<Result<_, _>>()?
    };
    let paper = match paper {
        PaperName::A4 => Paper::A4,
        PaperName::Letter => Paper::Letter,
    };
    let mut labels: Vec<Label> = vec![];
    for item in items {
        let keep = rack.kept_as(&item.stock.tag)?;
        let keep = keep.map(|(sheet, n)| format!("keep {}", offcut_name(sheet, n)));
        labels.push(Label { item, keep });
    }
    let page = labels::sheet(&labels, rack.units()?, paper).map_err(|error| {
        let labels::LabelError::TagTooLong { tag, found } = error;
        Findings(vec![Finding {
            file: file.path.display().to_string(),
            place: format!("tag {tag}"),
            found: format!("{found} bytes"),
            expected: format!("at most {} for a QR code that can be scanned", labels::MOST_TAG),
            hint: "Name the tags that do fit.".into(),
        }])
    })?;
    care.put(out, &page, Kind::Markup)?;
    session.print(&format!(
        "Written: {}, {}. Print it at 100 %.\n",
        out.display(),
        counted(labels.len(), "label")
    ));
    Ok(())
}

/// A whole copy of the rack in one new file, while others may be at work on it.
pub(super) fn backup(file: &RackFile, copy: &Path, session: &mut Session<'_>) -> Result<(), Error> {
    if copy.symlink_metadata().is_ok() {
        return Err(Findings(vec![Finding {
            file: copy.display().to_string(),
            place: "file to write".into(),
            found: "something that is there already".into(),
            expected: "a new name".into(),
            hint: "Give each copy a new name, such as by its day: an earlier one is never written over.".into(),
        }])
        .into());
    }
    let bytes = Rack::open_to_read(&file.path)?.copy()?;
    let place = Care::default().place(copy, |_| false).map_err(NotWritten::from)?;
    let putting = in_place();
    place
        .write(&bytes)
        .map_err(|error| NotWritten::CannotWrite(writing::cannot_write(copy, &error)))?;
    putting.done();
    let count = Rack::open_to_read(copy)?.list(&Which::default())?.len();
    session.print(&format!(
        "Written: {}, a copy of the whole rack with {}\n",
        copy.display(),
        counted(count, "sheet or offcut")
    ));
    Ok(())
}
