//! A list line by line: its column names, its separator and signs, and every line handed to the caller.

use crate::formula::as_meant;
use crate::kind::Kind;
use crate::number::DecimalSign;
use crate::quotes;
use crate::row::{Row, Source, cut_short};
use crate::thousands::{self, Shown};
use cullet_findings::{Report, did_you_mean};
use std::collections::BTreeMap;

/// Goes through a list; `entry` reads a line and reports what is wrong with it. Its results are those of the lines whose numbers
/// read in one way.
///
/// Cost O(n) in the text, with a second pass where commas may be decimal.
pub fn read<T>(
    report: &mut Report,
    text: &str,
    kind: &Kind,
    mut entry: impl FnMut(&mut Report, &Row<'_>) -> Option<T>,
) -> Vec<T> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let Some(first) = names_line(report, text, kind) else {
        return vec![];
    };
    let separator = separator(first);
    let sign = if separator == b',' {
        DecimalSign::Point
    } else {
        DecimalSign::Comma
    };
    let signs = (sign == DecimalSign::Comma).then(|| Signs::shown(text, separator, kind));
    let mut records = Records::new(text, separator);
    let mut header: Option<Header> = None;
    let mut entries: Vec<T> = vec![];
    let mut rows = 0;
    while let Some(line) = records.next(report) {
        let record = &records.record;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let Some(header) = &header else {
            if record.get(0).is_some_and(|cell| cell.starts_with("sep=")) {
                continue;
            }
            if !Header::is_one(record, kind) {
                no_names(report, line, first, kind);
                return vec![];
            }
            header = Some(Header::read(report, line, record, kind));
            continue;
        };
        rows += 1;
        if record.iter().skip(header.len).any(|cell| !cell.is_empty()) {
            too_many_cells(report, line, [record.len(), header.len], sign, kind);
            continue;
        }
        let cells = |column: &str| header.cell(record, column);
        let row = Row {
            source: Source::Line(line),
            cells: &cells,
            sign,
        };
        let doubts = signs.as_ref().map(|signs| signs.doubts(&cells)).unwrap_or_default();
        if doubts.is_empty() {
            entries.extend(entry(report, &row));
            continue;
        }
        doubtful(report, &row, doubts, &mut entry);
    }
    if header.is_none() {
        no_line(report, kind);
    } else if rows == 0 {
        report.add(
            "the whole file",
            "column names alone",
            format!("a line for each {}", kind.entry),
            kind.none,
        );
    }
    entries
}

/// The line of column names, where the list can be gone through at all: not too large, with names before all else and quotes
/// that are closed.
fn names_line<'t>(report: &mut Report, text: &'t str, kind: &Kind) -> Option<&'t str> {
    let lines = text.lines().count();
    if text.len() > kind.most_bytes || lines > kind.most_lines {
        report.add(
            "the whole file",
            format!("{:.1} MB in {lines} lines", text.len() as f64 / 1e6),
            format!(
                "at most {:.1} MB in {} lines",
                kind.most_bytes as f64 / 1e6,
                kind.most_lines
            ),
            kind.too_long,
        );
        return None;
    }
    // Spreadsheets may say on a line of its own which separator they use; it shows in the column names too.
    let is_named = |line: &str| is_skipped(line) || line.starts_with("sep=");
    let Some(first) = text.lines().find(|line| !is_named(line)) else {
        no_line(report, kind);
        return None;
    };
    if let Some((above, names)) = titles(text, first, kind) {
        report.add(
            format!("line {above}"),
            format!(
                "\"{}\" above the column names, which stand on line {names}",
                cut_short(first.trim())
            ),
            "the column names first",
            "Take out what stands above them, or begin those lines with #.",
        );
        return None;
    }
    if let Some((opened, cell)) = quotes::unbalanced(text, separator(first)) {
        report.add(
            format!("line {opened}"),
            format!("a double quote that opens {} and is not closed", cut_short(&cell)),
            "a double quote at both ends of the cell, or none",
            "Close it before the next separator. A double quote inside such a cell is written twice.",
        );
        return None;
    }
    Some(first)
}

/// Says which columns of a line can be read in two ways. What else is wrong with it is told too, but nothing that follows from the
/// doubtful numbers.
fn doubtful<T>(
    report: &mut Report,
    row: &Row<'_>,
    doubts: Vec<(&str, [String; 3])>,
    entry: &mut impl FnMut(&mut Report, &Row<'_>) -> Option<T>,
) {
    let mut others = Report::new(report.file());
    entry(&mut others, row);
    let others = others.into_findings().into_iter();
    report.extend(others.filter(|other| !doubts.iter().any(|(column, _)| row.place(column) == other.place)));
    for (column, [found, expected, hint]) in doubts {
        report.add(row.place(column), found, expected, hint);
    }
}

/// Says that a line of column names is missing above `line`, whose text is `first`.
fn no_names(report: &mut Report, line: usize, first: &str, kind: &Kind) {
    let between = char::from(separator(first)).to_string();
    report.add(
        format!("line {line}"),
        format!("\"{}\", which has no column's name in it", cut_short(first)),
        format!("a line of column names before the first {}", kind.entry),
        format!(
            "Put a line \"{}\" above it, with commas, semicolons or tabs between the names.",
            kind.columns[..kind.shown].join(&between)
        ),
    );
}

/// Says that a line has more cells than there are column names.
fn too_many_cells(report: &mut Report, line: usize, [found, named]: [usize; 2], sign: DecimalSign, kind: &Kind) {
    report.add(
        format!("line {line}"),
        format!("{found} cells"),
        format!("{named}, as in the line of column names"),
        match sign {
            DecimalSign::Point => {
                "Put a text that has commas in it between double quotes, and use decimal points.".to_owned()
            }
            DecimalSign::Comma => format!(
                "Put a text that has semicolons or tabs in it, such as {}, between double quotes.",
                kind.quoted
            ),
        },
    );
}

/// The lines of a list, read one after the other.
struct Records<'a> {
    reader: csv::Reader<&'a [u8]>,
    lines: LineCounter<'a>,
    /// The cells of the line read last.
    record: csv::StringRecord,
}

impl<'a> Records<'a> {
    fn new(text: &'a str, separator: u8) -> Self {
        Self {
            reader: reader(text, separator),
            lines: LineCounter::new(text),
            record: csv::StringRecord::new(),
        }
    }

    /// Reads the next line; its number, or none at the end.
    fn next(&mut self, report: &mut Report) -> Option<usize> {
        let start = self.reader.position().byte();
        match self.reader.read_record(&mut self.record) {
            Ok(false) => None,
            Ok(true) => Some(self.lines.line_at(start)),
            // The text is UTF-8 and lines may differ in length: nothing else can go wrong, but silence would be worse.
            Err(_) => {
                let line = self.lines.line_at(start);
                report.add(
                    format!("line {line}"),
                    "a line that cannot be read",
                    "a line of the list",
                    "Write the line again.",
                );
                None
            }
        }
    }
}

/// Nothing stands in the list, or separators alone.
fn no_line(report: &mut Report, kind: &Kind) {
    report.add(
        "the whole file",
        "no line",
        format!("a line of column names and a line for each {}", kind.entry),
        format!("The columns are: {}.", kind.columns.join(", ")),
    );
}

fn reader(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes())
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
fn titles(text: &str, first: &str, kind: &Kind) -> Option<(usize, usize)> {
    let known = |line: &str| {
        let cells = line.split(char::from(separator(line)));
        cells
            .filter(|cell| kind.column(cell.trim().trim_matches('"')).is_some())
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

/// Which signs the numbers of a list have.
struct Signs<'k> {
    columns: Vec<(&'k str, Shown)>,
    commas: bool,
}

impl<'k> Signs<'k> {
    /// Goes through the whole list, since one cell shows what another means.
    fn shown(text: &str, separator: u8, kind: &'k Kind) -> Self {
        let mut columns: Vec<(&str, Shown)> = kind.numbers.iter().map(|name| (*name, Shown::default())).collect();
        let mut places: Option<Vec<Option<usize>>> = None;
        for record in reader(text, separator).records().map_while(Result::ok) {
            match &places {
                None if Header::is_one(&record, kind) => {
                    let place = |name: &&str| record.iter().position(|cell| kind.column(cell) == Some(name));
                    places = Some(kind.numbers.iter().map(place).collect());
                }
                None => {}
                Some(places) => {
                    for ((_, shown), place) in columns.iter_mut().zip(places) {
                        shown.take(place.and_then(|i| record.get(i)).unwrap_or(""));
                    }
                }
            }
        }
        Self {
            // Semicolons part the columns because commas are decimal.
            commas: separator == b';' || columns.iter().any(|(_, shown)| shown.shows_comma()),
            columns,
        }
    }

    /// The columns of a line whose numbers can be read in two ways, with what to say.
    fn doubts<'a>(&self, cells: &dyn Fn(&str) -> Option<&'a str>) -> Vec<(&'k str, [String; 3])> {
        let all = self.columns.iter();
        all.filter_map(|(column, shown)| {
            let number = shown.doubtful(cells(column)?, self.commas)?;
            Some((*column, thousands::explain(number)))
        })
        .collect()
    }
}

/// Which column stands where.
struct Header {
    columns: BTreeMap<&'static str, usize>,
    len: usize,
}

impl Header {
    /// Whether any cell is a column's name.
    fn is_one(record: &csv::StringRecord, kind: &Kind) -> bool {
        record.iter().any(|cell| kind.column(cell).is_some())
    }

    fn read(report: &mut Report, line: usize, record: &csv::StringRecord, kind: &Kind) -> Self {
        let mut columns = BTreeMap::new();
        for (i, name) in record.iter().enumerate() {
            if name.is_empty() {
                continue;
            }
            let Some(known) = kind.column(name) else {
                let near = did_you_mean(name, kind.columns.iter().copied());
                report.add(
                    format!("line {line}"),
                    format!("the unknown column \"{}\"", cut_short(name)),
                    format!("only columns that {} has", kind.name),
                    format!("{near}The columns are: {}.", kind.columns.join(", ")),
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
        let required = &kind.columns[..kind.required];
        for column in required {
            if !columns.contains_key(column) {
                report.add(
                    format!("line {line}"),
                    format!("no column \"{column}\""),
                    format!("the columns {}", required.join(", ")),
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
        let cell = |i: &usize| as_meant(record.get(*i).unwrap_or("").trim()).trim();
        self.columns.get(column).map(cell)
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
