//! A problem without the glass that nothing may lie on.

use cullet_search::{Placed, Problem};

/// A problem with only the containers that something may lie in: a search would look at each of the others in vain.
pub(crate) struct Compact {
    pub(crate) problem: Problem,
    /// Which container each of them is.
    numbers: Vec<usize>,
}

impl Compact {
    pub(crate) fn of(problem: &Problem) -> Self {
        let may = |c: &usize| {
            let wanted = problem.items.iter().filter(|i| i.count > 0);
            wanted.into_iter().any(|i| i.allowed.is_empty() || i.allowed[*c])
        };
        let numbers: Vec<usize> = (0..problem.containers.len()).filter(may).collect();
        let mut problem = problem.clone();
        problem.containers = numbers.iter().map(|c| problem.containers[*c].clone()).collect();
        for item in problem.items.iter_mut().filter(|i| !i.allowed.is_empty()) {
            item.allowed = numbers.iter().map(|c| item.allowed[*c]).collect();
        }
        Self { problem, numbers }
    }

    /// A layout of the whole problem as one of this.
    pub(crate) fn inwards(&self, placed: &[Placed]) -> Vec<Placed> {
        let number = |p: &Placed| self.numbers.iter().position(|c| *c == p.container);
        let inner = |p: &Placed| {
            Some(Placed {
                container: number(p)?,
                ..*p
            })
        };
        placed.iter().filter_map(inner).collect()
    }

    /// A layout of this as one of the whole problem.
    pub(crate) fn outwards(&self, placed: &[Placed]) -> Vec<Placed> {
        let outer = |p: &Placed| Placed {
            container: self.numbers[p.container],
            ..*p
        };
        placed.iter().map(outer).collect()
    }

    /// Which container of this is `container` of the whole problem.
    pub(crate) fn number(&self, container: usize) -> Option<usize> {
        self.numbers.iter().position(|c| *c == container)
    }
}
