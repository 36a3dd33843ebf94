//! Lanes: searches that run side by side and share the best that any of them finds.

use crate::StopCondition;

/// One of several searches that run side by side.
pub trait Lane: Send {
    /// What is searched for.
    type Best: Clone;

    /// Whether the lanes search once even where the effort is gone.
    const AT_LEAST_ONCE: bool = false;

    /// Searches until the lanes meet next.
    fn search(&mut self, stop: &StopCondition<'_>);

    /// The best it knows.
    fn best(&self) -> &Self::Best;

    /// Whether one is better than another.
    fn is_better(one: &Self::Best, other: &Self::Best) -> bool;

    /// Goes on from the best of all lanes, where that is better than its own.
    fn adopt(&mut self, best: &Self::Best);

    /// Whether it has nothing left to try.
    fn is_done(&self) -> bool;

    /// Rounds that it has made.
    fn rounds(&self) -> u64;

    /// What lanes tell each other besides the best; nothing.
    fn exchange(lanes: &mut [Self])
    where
        Self: Sized,
    {
        let _ = lanes;
    }
}

/// Runs the lanes from `best` until the stop condition says so, none has anything left to try, or the best `is_enough`; returns the
/// best. `report` hears it after each meeting, from the calling thread. `most_rounds` is what all lanes together may make where
/// effort is counted in rounds.
pub fn run_lanes<L: Lane>(
    lanes: &mut [L],
    mut best: L::Best,
    most_rounds: u64,
    stop: &StopCondition<'_>,
    is_enough: &dyn Fn(&L::Best) -> bool,
    report: &mut dyn FnMut(&mut L::Best, &[L]),
) -> L::Best {
    let goes_on =
        |best: &L::Best, lanes: &[L]| !stop.over() && !is_enough(best) && lanes.iter().any(|lane| !lane.is_done());
    let mut is_first = L::AT_LEAST_ONCE;
    while is_first || goes_on(&best, lanes) {
        is_first = false;
        rayon::scope(|scope| {
            for lane in lanes.iter_mut() {
                scope.spawn(|_| lane.search(stop));
            }
        });
        for lane in lanes.iter() {
            if L::is_better(lane.best(), &best) {
                best = lane.best().clone();
            }
        }
        report(&mut best, lanes);
        lanes.iter_mut().for_each(|lane| lane.adopt(&best));
        L::exchange(lanes);
        let rounds: u64 = lanes.iter().map(Lane::rounds).sum();
        stop.spend(rounds as f64 / most_rounds as f64);
    }
    best
}
