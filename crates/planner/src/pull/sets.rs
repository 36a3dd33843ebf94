//! Sets of sheets and offcuts that could be pulled.

/// More sets than this are not gone through.
pub(super) const MOST_SETS: usize = 20_000;

/// A set of glass: how many of each kind of alike candidates.
pub(super) type Counts = Vec<u32>;

/// Candidates that are alike in all that matters, by their number.
pub(super) struct Kind {
    pub(super) members: Vec<usize>,
    pub(super) area: f64,
    pub(super) usable: f64,
    pub(super) cost: f64,
}

/// The first so many candidates of each kind.
pub(super) fn members(kinds: &[Kind], counts: &Counts) -> Vec<usize> {
    let each = kinds.iter().zip(counts);
    each.flat_map(|(k, n)| k.members.iter().take(*n as usize).copied())
        .collect()
}

/// Every set of glass.
pub(super) fn all_sets(kinds: &[Kind]) -> Vec<Counts> {
    kinds.iter().fold(vec![vec![]], |sets, kind| {
        let more = |set: &Counts| -> Vec<Counts> {
            (0..=kind.members.len() as u32)
                .map(|n| set.iter().copied().chain([n]).collect())
                .collect()
        };
        sets.iter().flat_map(more).collect()
    })
}

/// The sets that are one more, one less, or one or two for another away from `used`.
pub(super) fn neighbours(kinds: &[Kind], used: &Counts) -> Vec<Counts> {
    let changed = |changes: &[(usize, i64)]| -> Option<Counts> {
        let mut counts: Vec<i64> = used.iter().map(|n| i64::from(*n)).collect();
        changes.iter().for_each(|(kind, by)| counts[*kind] += by);
        let fits = |(n, k): (&i64, &Kind)| *n >= 0 && *n <= k.members.len() as i64;
        let fit = counts.iter().zip(kinds).all(fits);
        fit.then(|| counts.iter().map(|n| *n as u32).collect())
    };
    let mut found: Vec<Counts> = Vec::new();
    for a in 0..kinds.len() {
        found.extend(changed(&[(a, 1)]));
        found.extend(changed(&[(a, -1)]));
        for b in (0..kinds.len()).filter(|b| *b != a) {
            found.extend(changed(&[(a, -1), (b, 1)]));
            found.extend(changed(&[(a, -2), (b, 1)]));
            found.extend(changed(&[(a, -1), (b, 2)]));
            for c in b + 1..kinds.len() {
                if c != a && used[b] > 0 && used[c] > 0 {
                    found.extend(changed(&[(a, 1), (b, -1), (c, -1)]));
                }
            }
        }
    }
    found.sort();
    found.dedup();
    found
}
