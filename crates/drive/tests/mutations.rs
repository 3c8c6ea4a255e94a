//! Hostile logs: whole logs with bytes changed, cut, doubled and put in. The reader answers each, with a drive that
//! holds or with faults that say how to mend them. The seeds are fixed, so a failure can be run again.

use sumpwright_drive::Gearing;
use sumpwright_drive::log::{LogOptions, read};

/// A plain generator (xorshift64*, Vigna, "An experimental exploration of Marsaglia's xorshift generators", 2016; from
/// memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % n.max(1)
    }
}

/// Logs to start from: the layouts that the reader knows, each half a minute at 10 Hz.
fn corpus() -> Vec<Vec<u8>> {
    let rows = |delimiter: &str, comma: bool| -> String {
        (0..300)
            .map(|i| {
                let t = i as f64 / 10.0;
                let lateral = 0.7 * (0.6 * t).sin();
                let yaw = (lateral * 9.80665 / 25.0).to_degrees();
                let braking = 0.3 * (0.4 * t).cos();
                let cells = [t, 90.0, 4500.0, lateral, braking, yaw].map(|v| format!("{v:.3}"));
                let line = cells.join(delimiter) + "\n";
                if comma { line.replace('.', ",") } else { line }
            })
            .collect()
    };
    let head = "time,speed,engine speed,lateral,longitudinal,yaw rate\ns,km/h,rpm,g,g,deg/s\n";
    let plain = format!("{head}{}", rows(",", false));
    let semicolons = format!("logger;7\n\n{}{}", head.replace(',', ";"), rows(";", true));
    let tabs = format!("# a remark\n{}{}", head.replace(',', "\t"), rows("\t", false));
    let mut wide = vec![0xFF, 0xFE];
    wide.extend(plain.encode_utf16().flat_map(u16::to_le_bytes));
    vec![
        plain.into_bytes(),
        semicolons.into_bytes(),
        tabs.into_bytes(),
        wide,
    ]
}

/// Bytes that mean something to a reader of tables.
const TELLING: &[u8] = b",;\t.:-+eE\"#\n\r\0 09/[]\xFF\xFE\xB0";

fn mutate(log: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut out = log.to_vec();
    for _ in 0..=dice.below(6) {
        let (from, span) = (dice.below(out.len()), dice.below(200));
        let to = (from + span).min(out.len());
        match dice.below(6) {
            0 if !out.is_empty() => out[from] = TELLING[dice.below(TELLING.len())],
            1 => out.insert(from, TELLING[dice.below(TELLING.len())]),
            2 => drop(out.drain(from..to)),
            3 => {
                let piece = out[from..to].to_vec();
                let at = dice.below(out.len());
                out.splice(at..at, piece);
            }
            4 => out.truncate(from),
            _ if !out.is_empty() => out[from] ^= 1 << dice.below(8),
            _ => {}
        }
    }
    out
}

#[test]
fn four_thousand_spoilt_logs_are_each_answered() {
    let options = LogOptions {
        engine: Some(Gearing::Constant(80.0)),
        ..LogOptions::default()
    };
    let corpus = corpus();
    for log in &corpus {
        read(log, &options).expect("the logs to start from are good");
    }
    let (mut read_through, mut refused) = (0, 0);
    for seed in 1..=4000_u64 {
        let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        let log = mutate(&corpus[seed as usize % corpus.len()], &mut dice);
        match read(&log, &options) {
            Ok(drive) => {
                drive
                    .check()
                    .unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
                read_through += 1;
            }
            Err(faults) => {
                assert!(!faults.is_empty(), "seed {seed}: refused without a fault");
                for fault in faults {
                    assert!(!fault.mend().is_empty(), "seed {seed}: {fault}");
                }
                refused += 1;
            }
        }
    }
    // Both ways are taken, or the mutations are too mild or too rough to tell anything.
    assert!(
        read_through > 200 && refused > 200,
        "{read_through} read, {refused} refused"
    );
}
