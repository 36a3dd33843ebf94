//! Whatever text comes in, the reader of stock lists gives glass of some size or says what is wrong.
#![no_main]

use cullet_rack::Stock;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Stock::read_csv("stock.csv", text) {
        Ok(stock) => assert!(
            stock
                .items
                .iter()
                .all(|i| i.outline.area() > 0.0 && i.outline.area().is_finite())
        ),
        Err(findings) => assert!(!findings.0.is_empty()),
    }
});
