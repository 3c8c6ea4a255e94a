//! Pictures of any bytes: traced or refused, never a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;
use outline::scan::{ScanOptions, Straighten, trace};

fuzz_target!(|bytes: &[u8]| {
    let by = bytes.last().copied().unwrap_or(0);
    let straighten = if by % 2 == 0 {
        Straighten::No
    } else {
        Straighten::SheetFound([0.21, 0.297])
    };
    let options = ScanOptions {
        straighten,
        ..ScanOptions::default()
    };
    match trace(bytes, &options) {
        Ok(traced) => assert!(traced.figure.shapes.iter().all(|s| s.line.area() > 0.0)),
        Err(faults) => assert!(faults.iter().all(|f| !f.mend.is_empty()) && !faults.is_empty()),
    }
});
