//! Any bytes as a log: answered with a drive that holds its promises, or with faults that say how to mend them.
#![no_main]

use drive::Gearing;
use drive::log::{LogOptions, read_with_columns};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let options = LogOptions {
        engine: Some(Gearing::Constant(80.0)),
        ..LogOptions::default()
    };
    match read_with_columns(bytes, &options) {
        Ok(reading) => {
            reading.drive.check().expect("a drive that was read holds");
            let n = reading.drive.time.len();
            assert!(reading.beside.iter().all(|(_, v)| v.len() == n && v.iter().all(|x| x.is_finite())));
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            for fault in faults {
                assert!(!fault.to_string().is_empty() && !fault.mend().is_empty());
            }
        }
    }
});
