//! Whatever is typed, the program does it or says what is wrong. One argument a line; nothing is named outside a folder of its own.
#![no_main]

use cullet_fuzz::{folder, runs};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    std::env::set_current_dir(folder()).expect("the folder");
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let args: Vec<&str> = text.lines().filter(|a| !a.contains('/') && !a.contains("..")).collect();
    // Help and a version are the only things that end well without a file.
    runs(&args);
});
