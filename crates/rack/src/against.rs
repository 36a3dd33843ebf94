//! Whether the stock has the glasses that a job asks for.

use crate::{Count, Rack, RackError, Stock};
use cullet_job::{Finding, Job, Report, nearest_name};
use std::collections::{BTreeMap, BTreeSet};

impl Stock {
    /// What keeps `job` from being cut from this stock at all: a glass that has no line, or none with glass left, and codes
    /// that differ from a glass of the job only in capitals, blanks or dashes. Other glasses in the stock are fine.
    /// `stock_file` is the list's name for messages. Empty when every glass is there.
    #[must_use]
    pub fn check_against(&self, stock_file: &str, job: &Job) -> Vec<Finding> {
        let mut on_hand: BTreeMap<&str, bool> = BTreeMap::new();
        for item in &self.items {
            *on_hand.entry(&item.glass).or_default() |= item.count != Count::OnHand(0);
        }
        check(stock_file, &on_hand, job)
    }
}

impl Rack {
    /// The same for a rack: glass that is held for a plan counts as gone.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn check_against(&mut self, job: &Job) -> Result<Vec<Finding>, RackError> {
        let glasses = self.glasses()?;
        let on_hand = glasses
            .iter()
            .map(|(code, count)| (code.as_str(), *count != Count::OnHand(0)));
        Ok(check(self.file(), &on_hand.collect(), job))
    }
}

/// What is missing, from every glass's code and whether there is any left of it.
fn check(stock_file: &str, on_hand: &BTreeMap<&str, bool>, job: &Job) -> Vec<Finding> {
    let mut report = Report::new(stock_file);
    let job_codes: BTreeSet<&str> = job.glasses.iter().map(|glass| glass.code.as_str()).collect();
    let foreign: Vec<&str> = on_hand
        .keys()
        .copied()
        .filter(|code| !job_codes.contains(code))
        .collect();
    let mut named = BTreeSet::new();

    for (i, glass) in job.glasses.iter().enumerate() {
        let uses = job.pieces.iter().filter(|piece| piece.glass == i).count();
        if uses == 0 || on_hand.get(glass.code.as_str()) == Some(&true) {
            continue;
        }
        let found = match on_hand.get(glass.code.as_str()) {
            Some(_) => format!("no sheet or offcut left of glass {}", glass.code),
            None => format!("no line for glass {}", glass.code),
        };
        let hint = match nearest_name(&glass.code, foreign.iter().copied()) {
            Some(near) => {
                named.insert(near);
                format!("The list has \"{near}\": if that is the glass, write its code alike in both files.")
            }
            None => format!(
                "Add what is on the rack of it, or a sheet to buy (count buy). The list has: {}.",
                on_hand.keys().copied().collect::<Vec<_>>().join(", ")
            ),
        };
        let expected = format!(
            "at least one line with glass {} ({}), the job needs it",
            glass.code, glass.name
        );
        report.add("the whole list", found, expected, hint);
    }
    for code in foreign.iter().filter(|code| !named.contains(*code)) {
        if let Some(meant) = job_codes.iter().find(|known| bare(known) == bare(code)) {
            report.add(
                format!("column \"glass\", {code}"),
                format!("\"{code}\", nearly the job's \"{meant}\""),
                "one code for one glass",
                format!("If it is the same glass, write {meant}; otherwise give it another code."),
            );
        }
    }
    report.into_findings()
}

/// The code without what a slip of the hand changes.
fn bare(code: &str) -> String {
    code.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}
