//! Drawings and tables of any bytes: read or refused, never a panic; what is read can be written and read back.
#![no_main]

use libfuzzer_sys::fuzz_target;
use outline::write::{Format, checked};
use outline::{LengthUnit, ReadOptions, read};

fuzz_target!(|bytes: &[u8]| {
    let options = ReadOptions {
        unit: Some(LengthUnit::Millimetre),
        ..ReadOptions::default()
    };
    match read(bytes, &options) {
        Ok((_, figure)) => {
            assert!(figure.shapes.iter().all(|s| s.line.area() > 0.0));
            // Writing must not panic; whether it reads back the same is the writer's own check.
            let _ = checked(&figure, Format::Dxf);
            let _ = checked(&figure, Format::Svg);
        }
        Err(faults) => assert!(faults.iter().all(|f| !f.mend.is_empty()) && !faults.is_empty()),
    }
});
