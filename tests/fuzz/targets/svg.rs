//! Whatever bytes come in, the SVG reader gives a drawing within reach or says what is wrong.
#![no_main]

use cullet_drawing::read::svg;
use cullet_fuzz::drawn;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| drawn(bytes, svg));
