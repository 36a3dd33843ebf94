//! Exit codes, and how the help explains them.

use std::process::ExitCode;

/// What the program's exit code says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Done: every piece placed, or the plan holds.
    Done = 0,
    /// A file could not be written.
    CannotWrite = 1,
    /// Something wrong with the command line, the job, the stock list or the plan file; nothing was written.
    BadInput = 2,
    /// A plan was made, but not for every piece.
    Unplaced = 3,
    /// The program's own plan did not pass its verifier; nothing was written.
    Internal = 4,
    /// A plan that was checked does not hold.
    DoesNotHold = 5,
    /// The rack does not allow it: glass already taken or changed, or a plan booked already; the rack is as it was.
    Taken = 6,
    /// A rack that was audited is not true.
    Untrue = 7,
    /// Stopped by Ctrl-C before there was a plan; nothing was written.
    Interrupted = 130,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// The end of every help text.
pub(crate) const EXPLAINED: &str = "\
Exit codes:
  0    done: every piece placed, or the plan passes
  1    a file could not be written
  2    bad input (command line, job, stock list, rack or plan file); nothing was written but
       what cullet drawing was asked for
  3    not every piece was placed, those left out are named; or no glass was found for a recut
  4    internal fault: the plan did not pass the verifier; nothing was written
  5    the plan that was checked fails; every fault is named
  6    the rack does not allow it: glass already taken or changed, a tag in use, a plan
       booked already; the rack is as it was
  7    the rack that was audited does not add up; every fault is named
  130  stopped by Ctrl-C before there was a plan; nothing was written";
