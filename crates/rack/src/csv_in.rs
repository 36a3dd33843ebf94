//! The stock list as CSV: the header, the lines and what must hold between them.

use crate::Stock;
use crate::number::DecimalSign;
use crate::quotes;
use crate::row::{COLUMNS, Line, REQUIRED, Row, Source};
use crate::shape::cut_short;
use crate::thousands::{self, Shown};
use cullet_job::{Findings, Report, nearest_name};
use std::collections::BTreeMap;

/// The largest stock list that is read, in bytes.
pub const MOST_STOCK_BYTES: usize = 64 << 20;
/// The most lines a stock list may have.
pub const MOST_STOCK_LINES: usize = 250_000;

/// The lines of a stock list, read and checked, to be entered into a rack.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    pub(crate) file: String,
    pub(crate) lines: Vec<Line>,
}

impl Lines {
    /// Reads and checks a stock list; `file` is its name for messages. What stands in it: see the crate's documentation.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once, each with its line and column.
    pub fn read_csv(file: &str, text: &str) -> Result<Self, Findings> {
        let mut report = Report::new(file);
        let lines = read(&mut report, text);
        report.into_result(Self {
            file: file.to_owned(),
            lines,
        })
    }
}

impl Stock {
    /// Reads and checks a stock list; `file` is its name for messages. What stands in it: see the crate's documentation.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once, each with its line and column.
    pub fn read_csv(file: &str, text: &str) -> Result<Self, Findings> {
        let lines = Lines::read_csv(file, text)?.lines;
        Ok(Self {
            items: lines.into_iter().map(|line| line.stock).collect(),
        })
    }
}

fn read(report: &mut Report, text: &str) -> Vec<Line> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines = text.lines().count();
    if text.len() > MOST_STOCK_BYTES || lines > MOST_STOCK_LINES {
        report.add(
            "the whole file",
            format!("{:.1} MB in {lines} lines", text.len() as f64 / 1e6),
            format!(
                "at most {:.1} MB in {MOST_STOCK_LINES} lines",
                MOST_STOCK_BYTES as f64 / 1e6
            ),
            "Split the list, and draw outlines with fewer points.",
        );
        return vec![];
    }
    // Spreadsheets may say on a line of its own which separator they use; it shows in the column names too.
    let is_named = |line: &str| is_skipped(line) || line.starts_with("sep=");
    let Some(first) = text.lines().find(|line| !is_named(line)) else {
        report.add(
            "the whole file",
            "no line",
            "a line of column names and a line for each sheet or offcut",
            format!("The columns are: {}.", COLUMNS.join(", ")),
        );
        return vec![];
    };
    let separator = separator(first);
    let sign = if separator == b',' {
        DecimalSign::Point
    } else {
        DecimalSign::Comma
    };
    if let Some((above, names)) = titles(text, first) {
        report.add(
            format!("line {above}"),
            format!(
                "\"{}\" above the column names, which stand on line {names}",
                cut_short(first.trim())
            ),
            "the column names first",
            "Take out what stands above them, or begin those lines with #.",
        );
        return vec![];
    }
    if let Some((opened, cell)) = quotes::unbalanced(text, separator) {
        report.add(
            format!("line {opened}"),
            format!("a double quote that opens {} and is not closed", cut_short(&cell)),
            "a double quote at both ends of the cell, or none",
            "Close it before the next separator. A double quote inside such a cell is written twice.",
        );
        return vec![];
    }
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());

    let signs = (sign == DecimalSign::Comma).then(|| Signs::shown(text, separator));
    let mut lines = LineCounter::new(text);
    let mut header: Option<Header> = None;
    let mut items: Vec<Line> = vec![];
    let mut tags: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows = 0;
    let mut record = csv::StringRecord::new();
    loop {
        let start = reader.position().byte();
        match reader.read_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            // The text is UTF-8 and lines may differ in length: nothing else can go wrong, but silence would be worse.
            Err(_) => {
                let line = lines.line_at(start);
                report.add(
                    format!("line {line}"),
                    "a line that cannot be read",
                    "a line of the list",
                    "Write the line again.",
                );
                break;
            }
        }
        let line = lines.line_at(start);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let Some(header) = &header else {
            if record.get(0).is_some_and(|cell| cell.starts_with("sep=")) {
                continue;
            }
            if !Header::is_one(&record) {
                report.add(
                    format!("line {line}"),
                    format!("\"{}\", which has no column's name in it", cut_short(first)),
                    "a line of column names before the first sheet or offcut",
                    format!(
                        "Put a line \"{}\" above it, with commas, semicolons or tabs between the names.",
                        COLUMNS[..NAMED].join(&char::from(separator).to_string())
                    ),
                );
                return vec![];
            }
            header = Some(Header::read(report, line, &record));
            continue;
        };
        rows += 1;
        if record.iter().skip(header.len).any(|cell| !cell.is_empty()) {
            report.add(
                format!("line {line}"),
                format!("{} cells", record.len()),
                format!("{}, as in the line of column names", header.len),
                match sign {
                    DecimalSign::Point => {
                        "Put a text that has commas in it between double quotes, and use decimal points."
                    }
                    DecimalSign::Comma => {
                        "Put a text that has semicolons or tabs in it, such as an outline, between double quotes."
                    }
                },
            );
            continue;
        }
        let cells = |column: &str| header.cell(&record, column);
        let row = Row {
            source: Source::Line(line),
            cells: &cells,
            sign,
        };
        if let Some(tag) = cells("tag").filter(|tag| !tag.is_empty()) {
            match tags.get(tag) {
                Some(earlier) => report.add(
                    row.place("tag"),
                    format!("\"{}\" again, it stands on line {earlier} already", cut_short(tag)),
                    "each tag once",
                    "Give each line its own tag; equal sheets go on one line with their count.",
                ),
                None => _ = tags.insert(tag.to_owned(), line),
            }
        }
        let doubts = signs.as_ref().map(|signs| signs.doubts(&cells)).unwrap_or_default();
        if doubts.is_empty() {
            items.extend(row.read(report));
            continue;
        }
        // What else is wrong with the line is told too, but nothing that follows from the doubtful numbers.
        let mut others = Report::new(report.file());
        row.read(&mut others);
        let others = others.into_findings().into_iter();
        report.extend(others.filter(|other| !doubts.iter().any(|(column, _)| row.place(column) == other.place)));
        for (column, [found, expected, hint]) in doubts {
            report.add(row.place(column), found, expected, hint);
        }
    }
    if header.is_some() && rows == 0 {
        report.add(
            "the whole file",
            "column names alone",
            "a line for each sheet or offcut",
            "Add the glass on the rack, and what can be bought with count buy.",
        );
    }
    items
}

/// What parts the columns: the sign that the line of their names has most.
fn separator(names: &str) -> u8 {
    let mut best = b',';
    for sign in [b';', b'\t'] {
        let count = |sign: u8| names.bytes().filter(|b| *b == sign).count();
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

/// How far down the column names are looked for under a title.
const MOST_TITLES: usize = 20;

/// The lines of a title and of the column names below it; none where the names come first or nowhere near.
fn titles(text: &str, first: &str) -> Option<(usize, usize)> {
    let known = |line: &str| {
        let cells = line.split(char::from(separator(line)));
        cells
            .filter(|cell| column(cell.trim().trim_matches('"')).is_some())
            .count()
    };
    // A title may happen to be the name of a column.
    let by_chance = known(first);
    if by_chance >= 2 {
        return None;
    }
    let mut lines = text.lines().zip(1..).skip_while(|(line, _)| *line != first);
    let (_, above) = lines.next()?;
    let names = lines.take(MOST_TITLES).find(|(line, _)| known(line) >= 2 + by_chance)?;
    Some((above, names.1))
}

/// The column of a name.
fn column(name: &str) -> Option<&'static str> {
    COLUMNS.into_iter().find(|column| column.eq_ignore_ascii_case(name))
}

/// Columns with numbers in them.
const NUMBERS: [&str; 6] = ["width", "height", "outline", "grain", "flaws", "price"];

/// Which signs the numbers of a list have.
struct Signs {
    columns: [Shown; NUMBERS.len()],
    commas: bool,
}

impl Signs {
    /// Goes through the whole list, since one cell shows what another means.
    fn shown(text: &str, separator: u8) -> Self {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut columns = [Shown::default(); NUMBERS.len()];
        let mut places: Option<[Option<usize>; NUMBERS.len()]> = None;
        for record in reader.records().map_while(Result::ok) {
            match places {
                None if Header::is_one(&record) => {
                    let place = |name: &str| record.iter().position(|cell| name.eq_ignore_ascii_case(cell));
                    places = Some(NUMBERS.map(place));
                }
                None => {}
                Some(places) => {
                    for (shown, place) in columns.iter_mut().zip(places) {
                        shown.take(place.and_then(|i| record.get(i)).unwrap_or(""));
                    }
                }
            }
        }
        Self {
            // Semicolons part the columns because commas are decimal.
            commas: separator == b';' || columns.iter().any(|shown| shown.shows_comma()),
            columns,
        }
    }

    /// The columns of a line whose numbers can be read in two ways, with what to say.
    fn doubts<'a>(&self, cells: &dyn Fn(&str) -> Option<&'a str>) -> Vec<(&'static str, [String; 3])> {
        let all = NUMBERS.into_iter().zip(&self.columns);
        all.filter_map(|(column, shown)| {
            let number = shown.doubtful(cells(column)?, self.commas)?;
            Some((column, thousands::explain(number)))
        })
        .collect()
    }
}

/// How many columns the hint names: those that must be there, width and height.
const NAMED: usize = REQUIRED + 2;

/// Which column stands where.
struct Header {
    columns: BTreeMap<&'static str, usize>,
    len: usize,
}

impl Header {
    /// Whether any cell is a column's name, or nearly one.
    fn is_one(record: &csv::StringRecord) -> bool {
        record.iter().any(|cell| column(cell).is_some())
    }

    fn read(report: &mut Report, line: usize, record: &csv::StringRecord) -> Self {
        let mut columns = BTreeMap::new();
        for (i, name) in record.iter().enumerate() {
            if name.is_empty() {
                continue;
            }
            let Some(known) = column(name) else {
                let near =
                    nearest_name(name, COLUMNS).map_or_else(String::new, |near| format!("Did you mean \"{near}\"? "));
                report.add(
                    format!("line {line}"),
                    format!("the unknown column \"{}\"", cut_short(name)),
                    "only columns that a stock list has",
                    format!("{near}The columns are: {}.", COLUMNS.join(", ")),
                );
                continue;
            };
            if columns.insert(known, i).is_some() {
                report.add(
                    format!("line {line}"),
                    format!("the column \"{known}\" twice"),
                    "each column once",
                    "Take one of the two out.",
                );
            }
        }
        for required in &COLUMNS[..REQUIRED] {
            if !columns.contains_key(required) {
                report.add(
                    format!("line {line}"),
                    format!("no column \"{required}\""),
                    format!("the columns {}", COLUMNS[..REQUIRED].join(", ")),
                    "Add it to the line of column names and fill it in on every line.",
                );
            }
        }
        Self {
            columns,
            len: record.len(),
        }
    }

    /// `None` where there is no such column; a line that is too short has empty cells at its end.
    fn cell<'a>(&self, record: &'a csv::StringRecord, column: &str) -> Option<&'a str> {
        self.columns.get(column).map(|i| record.get(*i).unwrap_or("").trim())
    }
}

fn is_skipped(line: &str) -> bool {
    line.trim().is_empty() || line.starts_with('#')
}

/// Line numbers of records, counted here since the reader counts from the blank and comment lines before them.
struct LineCounter<'a> {
    text: &'a str,
    byte: usize,
    line: usize,
}

impl<'a> LineCounter<'a> {
    fn new(text: &'a str) -> Self {
        Self { text, byte: 0, line: 1 }
    }

    /// The line of the first record at or after `byte`; must be asked in rising order.
    fn line_at(&mut self, byte: u64) -> usize {
        let byte = usize::try_from(byte).unwrap_or(usize::MAX).min(self.text.len());
        let passed = self.text.as_bytes().get(self.byte..byte).unwrap_or_default();
        self.line += passed.iter().filter(|b| **b == b'\n').count();
        self.byte = byte.max(self.byte);
        let Some(mut rest) = self.text.get(self.byte..) else {
            return self.line;
        };
        // The reader may have stopped before the line feed that ends the record before.
        while let Some((skipped, after)) = rest.split_once('\n') {
            if !(skipped.trim_end_matches('\r').is_empty() || skipped.starts_with('#')) {
                break;
            }
            self.byte += skipped.len() + 1;
            self.line += 1;
            rest = after;
        }
        self.line
    }
}
