//! What a list is: which columns it has, and how messages speak of it.

/// What a list is: its columns, and how messages speak of it.
#[derive(Debug)]
pub struct Kind {
    /// What it is called, as `a stock list`.
    pub name: &'static str,
    /// What a line stands for, as `sheet or offcut`.
    pub entry: &'static str,
    /// The names of its columns, those that must be there first.
    pub columns: &'static [&'static str],
    /// Former names of columns, which are still read, each with its present one.
    pub former: &'static [(&'static str, &'static str)],
    /// How many of them must be there.
    pub required: usize,
    /// How many of them an example of the line of names shows.
    pub shown: usize,
    /// Columns with numbers in them.
    pub numbers: &'static [&'static str],
    /// What may have separators in it, as `an outline`.
    pub quoted: &'static str,
    /// What to do where there are column names alone.
    pub none: &'static str,
    /// The largest list that is read, bytes.
    pub most_bytes: usize,
    /// The most lines that are read.
    pub most_lines: usize,
    /// What to do about a list that is larger.
    pub too_long: &'static str,
}

impl Kind {
    /// The column of a name.
    pub(crate) fn column(&self, name: &str) -> Option<&'static str> {
        let name = name.trim().replace(' ', "_");
        let is_it = |known: &str| known.eq_ignore_ascii_case(&name);
        let present = self.columns.iter().copied().find(|column| is_it(column));
        present.or_else(|| {
            self.former
                .iter()
                .find(|(former, _)| is_it(former))
                .map(|(_, column)| *column)
        })
    }
}
