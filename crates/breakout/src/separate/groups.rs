//! Bodies in two groups, and the directions in which these are seen.

use crate::corridor::{Gate, gates};
use crate::profile::Profile;
use std::collections::BTreeMap;

/// The bodies as seen along a direction.
pub(super) struct View {
    pub(super) angle: f64,
    pub(super) profiles: Vec<Profile>,
}

/// The bodies as two groups, one above the other as seen along a direction.
pub(super) struct Grouping<'v> {
    pub(super) view: &'v View,
    pub(super) lower: Vec<usize>,
    pub(super) upper: Vec<usize>,
    /// How far from squarely the upper group lies above the lower one, 0 to 1: the cosine between the view and the way from one
    /// middle to the other.
    pub(super) slant: f64,
}

impl Grouping<'_> {
    /// The same for the same two groups, whichever is above.
    pub(super) fn key(&self) -> Vec<usize> {
        let side = if self.lower.contains(&0) {
            &self.lower
        } else {
            &self.upper
        };
        let mut key = side.clone();
        key.sort_unstable();
        key
    }

    /// The two groups and the direction in which they are seen.
    pub(super) fn key_seen(&self) -> (Vec<usize>, u64) {
        (self.key(), self.view.angle.to_bits())
    }

    pub(super) fn corridor(&self) -> Option<Vec<Gate>> {
        let profiles = |group: &[usize]| group.iter().map(|i| &self.view.profiles[*i]).collect::<Vec<_>>();
        gates(&profiles(&self.lower), &profiles(&self.upper))
    }
}

/// Each pair of groups as seen in the directions in which one lies most squarely above the other, up to so many: seen aslant a
/// score between them is steep, and none is found. Those that lie most squarely come first.
pub(super) fn squarest(groupings: Vec<Grouping<'_>>, most: usize) -> Vec<Grouping<'_>> {
    let mut of_key: BTreeMap<Vec<usize>, Vec<(usize, Grouping)>> = BTreeMap::new();
    for (k, grouping) in groupings.into_iter().enumerate() {
        of_key.entry(grouping.key()).or_default().push((k, grouping));
    }
    let mut kept: Vec<(usize, (usize, Grouping))> = vec![];
    for mut same in of_key.into_values() {
        same.sort_by(|a, b| a.1.slant.total_cmp(&b.1.slant).then(a.0.cmp(&b.0)));
        same.truncate(most);
        kept.extend(same.into_iter().enumerate());
    }
    kept.sort_by_key(|(rank, (k, _))| (*rank, *k));
    kept.into_iter().map(|(_, (_, grouping))| grouping).collect()
}
