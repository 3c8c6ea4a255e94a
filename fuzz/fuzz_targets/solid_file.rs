//! Mesh files of any bytes: read or refused, never a panic; what is read is closed, and asking for its oil side is safe.
#![no_main]

use libfuzzer_sys::fuzz_target;
use solid::part::{Stated, understand};
use solid::{Asked, Unit, read};

fuzz_target!(|bytes: &[u8]| {
    let asked = Asked {
        unit: Some(Unit::Millimetre),
        any_size: true,
        ..Asked::default()
    };
    match read(bytes, &asked) {
        Ok(surface) => {
            assert!(surface.volume() > 0.0);
            if let Ok(part) = understand(&surface, &Stated::default()) {
                assert!(part.volume > 0.0);
            }
        }
        Err(refused) => assert!(!refused.fault.what.is_empty() && !refused.fault.mend.is_empty()),
    }
});
