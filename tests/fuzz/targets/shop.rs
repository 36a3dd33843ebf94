//! Whatever text comes in, the reader of shop files gives a shop or says what is wrong.
#![no_main]

use cullet_job::Shop;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(findings) = Shop::read("shop.json", text) {
        assert!(!findings.0.is_empty());
    }
});
