//! The unit in which people read the rack: a setting of the rack's own, whatever the jobs are in.

use crate::rack::Rack;
use crate::trouble::RackError;
use cullet_job::Units;

impl Rack {
    /// The unit of its lists and labels; millimetres until it is set.
    ///
    /// # Errors
    /// [`RackError::File`] where it cannot be read.
    pub fn units(&mut self) -> Result<Units, RackError> {
        self.read(|transaction| {
            let code: String = transaction.query_row("SELECT units FROM rack", [], |row| row.get(0))?;
            let is_inches = code == Units::Inches.code();
            Ok(if is_inches { Units::Inches } else { Units::Millimetres })
        })
    }

    /// Sets it. Sizes are kept in millimetres all the same, so that nothing is lost by changing it.
    ///
    /// # Errors
    /// [`RackError::File`] where it cannot be written.
    ///
    /// ```
    /// # let folder = tempfile::tempdir().unwrap();
    /// # let path = folder.path().join("shop.rack");
    /// use cullet_job::Units;
    /// let mut rack = cullet_rack::Rack::open_or_create(&path)?;
    /// rack.set_units(Units::Inches)?;
    /// assert_eq!(cullet_rack::Rack::open(&path)?.units()?, Units::Inches);
    /// # Ok::<(), cullet_rack::RackError>(())
    /// ```
    pub fn set_units(&mut self, units: Units) -> Result<(), RackError> {
        self.write(|transaction| {
            transaction.execute("UPDATE rack SET units = ?1", [units.code()])?;
            Ok(())
        })
    }
}
