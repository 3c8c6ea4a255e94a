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

/// Logs to start from: the files that the fuzzer starts from, every layout that the reader knows among them.
fn corpus() -> Vec<Vec<u8>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fuzz/corpus/log");
    let files = std::fs::read_dir(folder).expect("the corpus is there");
    // Beside them may lie what a run of the fuzzer found.
    let to_start_from = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap_or_default();
        name.to_string_lossy().starts_with("start-")
    };
    let mut paths: Vec<_> = files
        .map(|file| file.expect("a file").path())
        .filter(to_start_from)
        .collect();
    paths.sort();
    let read = |path: &std::path::PathBuf| std::fs::read(path).expect("it can be read");
    paths.iter().map(read).collect()
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
    assert!(corpus.len() >= 15, "{} files in the corpus", corpus.len());
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
