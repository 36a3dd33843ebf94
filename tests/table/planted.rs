//! Faults planted in table files, of every kind: the check finds each and says what it is.

use crate::{checked, planned, table, text};
use cullet::Exit;
use cullet_tests::Checked;

/// What is wrong, the file with it, and what the check says.
type Planted = (&'static str, String, &'static str);

/// The blocks of a file from a travel to the wheel's being lifted, as ranges of lines; those with a straight score only.
fn straight_blocks(lines: &[&str]) -> Vec<(usize, usize)> {
    let starts = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.starts_with("G0 "))
        .map(|(k, _)| k);
    let blocks = starts.filter_map(|k| Some((k, k + lines[k..].iter().position(|line| *line == "M9")?)));
    blocks
        .filter(|(a, b)| {
            lines[*a..*b]
                .iter()
                .filter(|line| line.starts_with('G') && !line.starts_with("G4"))
                .count()
                == 2
        })
        .collect()
}

/// The number behind a letter changed.
fn with(line: &str, letter: char, change: impl Fn(f64) -> f64) -> String {
    let words = line.split(' ').map(
        |word| match word.strip_prefix(letter).and_then(|n| n.parse::<f64>().ok()) {
            Some(number) => format!("{letter}{:.4}", change(number)),
            None => word.to_owned(),
        },
    );
    words.collect::<Vec<_>>().join(" ")
}

/// The number behind a letter.
fn number(line: &str, letter: char) -> Option<f64> {
    line.split(' ').find_map(|word| word.strip_prefix(letter)?.parse().ok())
}

/// A file that passes, with a straight score in its middle to be edited.
struct GoodFile {
    good: String,
    lines: Vec<String>,
    /// The first and the last line of that score.
    score: (usize, usize),
}

impl GoodFile {
    fn new(good: String) -> Self {
        let lines: Vec<&str> = good.lines().collect();
        let blocks = straight_blocks(&lines);
        assert!(blocks.len() > 3, "{} straight scores", blocks.len());
        Self {
            lines: lines.iter().map(ToString::to_string).collect(),
            score: blocks[blocks.len() / 2],
            good,
        }
    }

    /// The file after an edit of its lines, told where the score begins and ends.
    fn edited(&self, edit: &dyn Fn(&mut Vec<String>, usize, usize)) -> String {
        let (a, b) = self.score;
        let mut lines = self.lines.clone();
        edit(&mut lines, a, b);
        lines.join("\n") + "\n"
    }
}

/// Scores that are missing, too many or elsewhere.
fn wrong_scores(file: &GoodFile) -> Vec<Planted> {
    vec![
        (
            "a score left out",
            file.edited(&|l, a, b| drop(l.drain(a..=b))),
            "is not scored",
        ),
        (
            "a score doubled",
            file.edited(&|l, a, b| {
                let twice = l[a..=b].to_vec();
                l.splice(b + 1..b + 1, twice);
            }),
            "scored twice",
        ),
        (
            // A break that is a side of a flattened curve may be off by its facet too.
            "0.1 mm off",
            file.edited(&|l, a, b| {
                // Across the score, whichever way it runs.
                let places: Vec<(f64, f64)> = l[a..=b]
                    .iter()
                    .filter_map(|line| Some((number(line, 'X')?, number(line, 'Y')?)))
                    .collect();
                let (from, to) = (places[0], places[places.len() - 1]);
                let up = if (to.0 - from.0) * (to.1 - from.1) > 0.0 {
                    -0.1
                } else {
                    0.1
                };
                for line in &mut l[a..=b] {
                    *line = with(&with(line, 'X', |x| x + 0.1), 'Y', |y| y + up);
                }
            }),
            "off the nearest break",
        ),
        (
            "the wrong mirror",
            file.edited(&|l, _, _| {
                for line in l.iter_mut() {
                    *line = with(line, 'X', |x| 600.0 - x);
                }
            }),
            "off the nearest break",
        ),
        (
            "beyond the edge",
            file.edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'X', |x| x - 620.0);
                }
            }),
            "beyond the sheet's edge",
        ),
        (
            "off the table",
            file.edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'Y', |y| y - 3000.0);
                }
            }),
            "off the table",
        ),
    ]
}

/// A wheel that is turned, up or down where it should not be.
fn wrong_wheel(file: &GoodFile) -> Vec<Planted> {
    // At places all over the sheet: some lie in pieces.
    let places = (1..20).flat_map(|x| (1..16).map(move |y| (30 * x, 30 * y)));
    let all_over: String = places
        .map(|(x, y)| format!("G0 X{x}.0000 Y{y}.0000 C0.0000\nM3\nM5\n"))
        .collect();
    vec![
        (
            "turned by 2°",
            file.edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'C', |c| c + 2.0);
                }
            }),
            "off its path",
        ),
        (
            "down in a travel",
            file.edited(&|l, a, b| {
                l.retain({
                    let mut k = 0;
                    move |line| {
                        k += 1;
                        !(k > a + 1 && k <= b + 1 && line == "M5")
                    }
                })
            }),
            "with the wheel down",
        ),
        (
            "wound too far",
            file.edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'C', |c| c + 1440.0);
                }
            }),
            "the cable allows",
        ),
        (
            "a score with the wheel up",
            file.edited(&|l, a, b| {
                l.retain({
                    let mut k = 0;
                    move |line| {
                        k += 1;
                        !(k > a + 1 && k <= b + 1 && (line == "M3" || line == "M5"))
                    }
                })
            }),
            "with the wheel up",
        ),
        (
            "lowered inside a piece",
            file.good.replace("M2\n", &format!("{all_over}M2\n")),
            "lowered inside a piece",
        ),
    ]
}

/// Lines that no file for this table has; `arc` is the line of an arc.
fn wrong_lines(file: &GoodFile, arc: usize) -> Vec<Planted> {
    vec![
        (
            "an arc off its circle",
            file.edited(&|l, _, _| l[arc] = with(&with(&l[arc], 'X', |x| x + 0.05), 'Y', |y| y + 0.07)),
            "",
        ),
        (
            "an arc the other way",
            file.edited(&|l, _, _| l[arc] = l[arc].replace("G3", "G2")),
            "off its path",
        ),
        ("no unit", file.good.replace("G17 G21 G40", "G17 G40"), "no unit"),
        (
            "a foreign word",
            file.good.replace("G61", "G64"),
            "none of this table's",
        ),
        ("cut short", file.good.replace("M2\n", ""), "does not end with M2"),
    ]
}

#[test]
fn faults_in_g_code_are_found() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let file = GoodFile::new(text(&bench.path("out").join("sheet-1.ngc"))?);
    let arc = file
        .lines
        .iter()
        .position(|line| line.starts_with("G3 "))
        .ok_or("no arc")?;
    let planted = [wrong_scores(&file), wrong_wheel(&file), wrong_lines(&file, arc)].concat();
    for (what, text, expected) in &planted {
        let said = checked(&bench, text, "ngc")?;
        assert_eq!(said.exit, Exit::DoesNotHold, "{what}: {}", said.out);
        assert!(said.err.contains(expected), "{what}: {}", said.err);
    }
    Ok(())
}

#[test]
fn faults_in_dxf_are_found() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let good = text(&bench.path("out").join("sheet-1.dxf"))?;
    let at = good
        .find("0\nLINE\n8\nSCORE\n")
        .or(good.find("0\nLINE\n8\nTRIM\n"))
        .ok_or("no line")?;
    let end = at + 2 + good[at + 2..].find("\n0\n").ok_or("no end")? + 1;
    for (what, text, expected) in [
        ("left out", format!("{}{}", &good[..at], &good[end..]), "is not scored"),
        (
            "doubled",
            format!("{}{}{}", &good[..end], &good[at..end], &good[end..]),
            "scored twice",
        ),
        (
            "a foreign layer",
            good.replace("\nGAUGE\n", "\nOTHER\n"),
            "none of these files'",
        ),
    ] {
        let said = checked(&bench, &text, "dxf")?;
        assert_eq!(said.exit, Exit::DoesNotHold, "DXF, {what}");
        assert!(said.err.contains(expected), "DXF, {what}: {}", said.err);
    }
    Ok(())
}
