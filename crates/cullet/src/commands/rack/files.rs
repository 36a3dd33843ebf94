//! Lists in and out, and labels.

use super::Stopped;
use crate::arguments::{PaperName, RackFile};
use crate::commands::drawing;
use crate::{Session, reading};
use cullet_job::{Finding, Findings};
use cullet_output::labels::{self, Paper};
use cullet_rack::{Lines, Rack, RackItem, Signs, State, StockKind, Which, write_csv};
use std::path::Path;

pub(super) fn import(file: &RackFile, list: &Path, session: &mut Session<'_>) -> Result<(), Stopped> {
    let text = reading::text(list, "a stock list (CSV)")?;
    let lines = Lines::read_csv(&list.display().to_string(), &text)?;
    let tags = Rack::open_or_create(&file.path)?.import(&lines, &session.stamp())?;
    session.print(&format!(
        "Entered: {} sheets and offcuts, each with its tag\n",
        tags.len()
    ));
    Ok(())
}

pub(super) fn export(
    file: &RackFile,
    list: Option<&Path>,
    signs: Signs,
    session: &mut Session<'_>,
) -> Result<(), Stopped> {
    let items = Rack::open(&file.path)?.list(&Which::default())?;
    let text = write_csv(&items, signs);
    match list {
        None => session.print(&text),
        Some(list) => {
            drawing::put(list, &text).map_err(Stopped::CannotWrite)?;
            session.print(&format!("Written: {}, {} lines\n", list.display(), items.len()));
        }
    }
    Ok(())
}

pub(super) fn labels(
    file: &RackFile,
    tags: &[String],
    out: &Path,
    paper: PaperName,
    session: &mut Session<'_>,
) -> Result<(), Stopped> {
    let mut rack = Rack::open(&file.path)?;
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
    let page = labels::sheet(&items, paper).map_err(|error| {
        let labels::LabelError::TagTooLong { tag, found } = error;
        Findings(vec![Finding {
            file: file.path.display().to_string(),
            place: format!("tag {tag}"),
            found: format!("{found} bytes"),
            expected: format!("at most {} for a QR code that can be scanned", labels::MOST_TAG),
            hint: "Name the tags that do fit.".into(),
        }])
    })?;
    drawing::put(out, &page).map_err(Stopped::CannotWrite)?;
    session.print(&format!(
        "Written: {}, {} labels. Print it at 100 %.\n",
        out.display(),
        items.len()
    ));
    Ok(())
}
