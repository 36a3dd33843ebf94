//! First layouts: items put down one by one, and exact covers.

use super::{Filling, Priced, filling};
use crate::field::{Bin, Field};
use crate::first::{Lean, Putting};
use crate::form::{Form, Kind};
use crate::prepare::Prepared;
use crate::{first, tile};
use cullet_search::{Effort, Random, StopCondition};

/// First layouts tried before the search begins.
pub(super) const FIRST_TRIES: usize = 10;

/// Share of the effort after which exact fits are no longer looked for.
pub(super) const EXACT: f64 = 0.6;

/// Bin after bin covered without a gap, as far as that succeeds, and the rest put down as in a first layout.
pub(super) fn exact_filling(ready: &Prepared, effort: Effort, watch: &StopCondition) -> Option<Filling> {
    let Prepared {
        kinds,
        slot_kinds,
        bins,
        obstacles,
        ..
    } = ready;
    let mut counts = vec![0u32; kinds.len()];
    slot_kinds.iter().for_each(|k| counts[*k] += 1);
    let mut field = Field::new(
        kinds,
        bins.iter().map(|b| b.bin.clone()).collect(),
        obstacles,
        slot_kinds,
    );
    let mut covered = vec![false; bins.len()];
    for (bin, region) in ready.regions.iter().enumerate() {
        let Some(region) = region else { continue };
        let area: f64 = counts.iter().zip(kinds).map(|(c, k)| f64::from(*c) * k.area).sum();
        if area < region.area() * (1.0 - 1e-6) {
            continue;
        }
        let left: Vec<u32> = counts
            .iter()
            .zip(kinds)
            .map(|(c, k)| if k.may_lie_in(bin) { *c } else { 0 })
            .collect();
        // The effort still left is shared by the bins still to come.
        let bins_to_come = (area / region.area()).round().max(1.0);
        let until = watch.share() + (EXACT - watch.share()).max(0.0) / bins_to_come;
        let Some(tiles) = tile::cover(kinds, &left, std::slice::from_ref(region), effort, watch, until) else {
            continue;
        };
        tiles.iter().for_each(|tile| counts[tile.kind] -= 1);
        tile::put_all(&mut field, &tiles, bin);
        covered[bin] = true;
    }
    if !covered.contains(&true) || field.total() > 0.0 {
        return None;
    }
    let mut random = Random::new(effort.seed, 0);
    put_all(&mut field, &covered, Lean::Left, 300, &mut random);
    Some(filling(&field, bins))
}

/// The best of some first layouts, each leaning another way.
pub(super) fn first_filling(
    ready: &Prepared,
    seed: u64,
    watch: &StopCondition,
    report: &(dyn Fn(&Filling) + Sync),
) -> Filling {
    let Prepared {
        kinds,
        slot_kinds,
        bins,
        obstacles,
        ..
    } = ready;
    let mut random = Random::new(seed, 0);
    let empty: Vec<Bin> = bins.iter().map(|b| b.bin.clone()).collect();
    let mut best: Option<Filling> = None;
    for attempt in 0..FIRST_TRIES {
        if best.is_some() && (watch.over() || watch.share() > 0.15) {
            break;
        }
        let mut field = Field::new(kinds, empty.clone(), obstacles, slot_kinds);
        let lean = if attempt % 2 == 0 { Lean::Left } else { Lean::Down };
        // Ever more thorough: the early ones are there soon, the late ones find the last place in a row.
        let samples = 60 << (attempt / 2);
        put_all(&mut field, &vec![false; bins.len()], lean, samples, &mut random);
        let found = filling(&field, bins);
        if best.as_ref().is_none_or(|b| found.better_than(b)) {
            report(&found);
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| filling(&Field::new(kinds, empty, obstacles, slot_kinds), bins))
}

/// Puts down everything that lies nowhere yet, in no bin that is `full`.
pub(super) fn put_all(field: &mut Field, full: &[bool], lean: Lean, samples: usize, random: &mut Random) {
    // A bin only gets fuller: where a kind failed once it need not be tried again.
    let mut failed = vec![full.to_vec(); field.kinds.len()];
    let mut putting = Putting::new(field, lean);
    for i in first::order(field) {
        if field.slots[i].placed {
            continue;
        }
        let kind = field.slots[i].kind;
        for (bin, failed) in failed[kind].iter_mut().enumerate().filter(|(_, failed)| !**failed) {
            // Before a bin is called full for a kind, a thorough look.
            if putting.put(field, i, bin, samples, random) || putting.put(field, i, bin, 4 * samples, random) {
                break;
            }
            putting.forget(kind, bin);
            *failed = true;
        }
    }
}

/// Whether the one item of `kinds` can lie in the one bin.
pub(crate) fn fits_alone(kinds: &[Kind], bins: &[Priced], obstacles: &[Form]) -> bool {
    let empty: Vec<Bin> = bins.iter().map(|b| b.bin.clone()).collect();
    let mut field = Field::new(kinds, empty, obstacles, &[0]);
    let mut random = Random::new(1, 0);
    Putting::new(&field, Lean::Left).put(&mut field, 0, 0, 600, &mut random)
}
