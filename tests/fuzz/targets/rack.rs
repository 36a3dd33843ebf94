//! Whatever bytes stand in a rack file, it is audited, listed and held against a size, or refused.
#![no_main]

use cullet_fuzz::{runs, written};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let rack = written("rack.cullet", bytes);
    for side in ["-wal", "-shm", "-journal"] {
        let _ = std::fs::remove_file(format!("{rack}{side}"));
    }
    runs(&["rack", "audit", "--rack", &rack]);
    runs(&["rack", "list", "--rack", &rack]);
    runs(&["rack", "find", "--rack", &rack, "--size", "100x100"]);
});
