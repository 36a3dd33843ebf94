//! What an offcut was called on the sheet map that it came from: the bench wrote that on it before it had its tag.

use crate::rack::Rack;
use crate::rows::required;
use crate::trouble::RackError;
use rusqlite::OptionalExtension;

impl Rack {
    /// The number of its sheet map and its place among the offcuts of that map, from 0; none for glass that no booking returned.
    ///
    /// # Errors
    /// [`RackError::Input`] where there is no such tag.
    pub fn kept_as(&mut self, tag: &str) -> Result<Option<(u32, usize)>, RackError> {
        self.read(|transaction| {
            let item = required(transaction, tag)?.row;
            let found: Option<(u32, i64)> = transaction
                .query_row(
                    "SELECT sheet, (SELECT count(*) FROM returns AS before WHERE before.booking = returns.booking
                                    AND before.sheet = returns.sheet AND before.item < returns.item)
                     FROM returns WHERE item = ?1",
                    [item],
                    |row| Ok((row.get(0)?, row.get(1)?)),
                )
                .optional()?;
            Ok(found.and_then(|(sheet, before)| Some((sheet, usize::try_from(before).ok()?))))
        })
    }
}
