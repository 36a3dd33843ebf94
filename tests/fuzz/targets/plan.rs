//! Whatever bytes stand in a plan file, `cullet check` judges it.
#![no_main]

use cullet_fuzz::{runs, written};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    runs(&["check", &written("plan.json", bytes)]);
});
