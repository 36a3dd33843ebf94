//! The signs of a table's columns and decimals, which are those of the spreadsheet that is to open it.

use super::TableError;
use cullet_rack::Signs;

/// A table to write to, in memory.
pub(crate) fn writer(signs: Signs) -> csv::Writer<Vec<u8>> {
    let separator = match signs {
        Signs::Points => b',',
        Signs::Commas => b';',
    };
    csv::WriterBuilder::new().delimiter(separator).from_writer(vec![])
}

/// A number, written with a decimal point so far, as the table has it.
pub(crate) fn number(text: String, signs: Signs) -> String {
    match signs {
        Signs::Points => text,
        Signs::Commas => text.replace('.', ","),
    }
}

/// The table's text, with the mark in front by which spreadsheets know UTF-8 where they want decimal commas.
pub(crate) fn text(table: csv::Writer<Vec<u8>>, signs: Signs) -> Result<String, TableError> {
    let bytes = table.into_inner().map_err(|e| TableError::Text(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|e| TableError::Text(e.to_string()))?;
    Ok(match signs {
        Signs::Points => text,
        Signs::Commas => format!("\u{feff}{text}"),
    })
}
