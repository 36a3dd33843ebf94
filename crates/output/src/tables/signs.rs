//! The signs of a table's columns and decimals, which are those of the spreadsheet that is to open it.

use super::TableError;
use cullet_rack::{Signs, as_text};

/// A table to write to, in memory; no cell of it is a formula.
pub(crate) struct Table(csv::Writer<Vec<u8>>);

impl Table {
    /// Adds a row.
    pub(crate) fn write_record<C: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = C>) -> csv::Result<()> {
        for cell in cells {
            self.0.write_field(as_text(cell.as_ref()).as_bytes())?;
        }
        self.0.write_record(None::<&[u8]>)
    }
}

/// An empty table.
pub(crate) fn writer(signs: Signs) -> Table {
    let separator = match signs {
        Signs::Points => b',',
        Signs::Commas => b';',
    };
    Table(csv::WriterBuilder::new().delimiter(separator).from_writer(vec![]))
}

/// A number, written with a decimal point so far, as the table has it.
pub(crate) fn number(text: String, signs: Signs) -> String {
    match signs {
        Signs::Points => text,
        Signs::Commas => text.replace('.', ","),
    }
}

/// The table's text, with the mark in front by which spreadsheets know UTF-8 where they want decimal commas.
pub(crate) fn text(table: Table, signs: Signs) -> Result<String, TableError> {
    let bytes = table.0.into_inner().map_err(|e| TableError::Text(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|e| TableError::Text(e.to_string()))?;
    Ok(match signs {
        Signs::Points => text,
        Signs::Commas => format!("\u{feff}{text}"),
    })
}
