//! The machine that the benchmark runs on: its name, and what the system says of this process.

use std::fs;

/// Processor and cores, in words.
pub fn name() -> String {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let processor = processor().unwrap_or_else(|| "processor not named by this system".into());
    format!("{processor}, {cores} cores, {}", std::env::consts::OS)
}

fn processor() -> Option<String> {
    let text = fs::read_to_string("/proc/cpuinfo").ok()?;
    let of = |key: &str| {
        text.lines()
            .find(|line| line.split(':').next().is_some_and(|k| k.trim() == key))
            .and_then(|line| line.split(':').nth(1))
            .map(|v| v.trim().to_string())
    };
    let model = of("model name")?;
    Some(match (of("cpu family"), of("model"), of("cache size")) {
        (Some(family), Some(number), Some(cache)) => {
            format!("{model} (family {family}, model {number}, cache {cache})")
        }
        _ => model,
    })
}

/// Vector units that the processor has.
pub fn vectors() -> &'static str {
    #[cfg(target_arch = "x86_64")]
    {
        if std::arch::is_x86_feature_detected!("avx512f") {
            return "AVX-512";
        }
        if std::arch::is_x86_feature_detected!("avx2") {
            return "AVX2";
        }
        "SSE2"
    }
    #[cfg(not(target_arch = "x86_64"))]
    {
        std::env::consts::ARCH
    }
}

/// Processor time of this process so far, all threads [s], in hundredths (Linux).
pub fn processor_time() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/stat").ok()?;
    // The name in brackets may hold blanks; user and system time are the 12th and 13th fields after it.
    let mut fields = text.rsplit_once(')')?.1.split_whitespace().skip(11);
    let user: f64 = fields.next()?.parse().ok()?;
    let system: f64 = fields.next()?.parse().ok()?;
    Some((user + system) / 100.0)
}

/// Programs that wanted a processor, averaged over the last minute: before a run, other work (Linux).
pub fn other_load() -> Option<f64> {
    let text = fs::read_to_string("/proc/loadavg").ok()?;
    text.split_whitespace().next()?.parse().ok()
}

/// Most memory that this process has held [bytes] (Linux).
pub fn peak_memory() -> Option<u64> {
    let text = fs::read_to_string("/proc/self/status").ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kilobytes * 1024)
}

/// Today's date, `YYYY-MM-DD` (UTC), from the days since 1970 by the civil calendar.
pub fn date() -> String {
    let seconds = std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .map_or(0, |d| d.as_secs());
    let mut day = seconds / 86_400;
    let leap = |year: u64| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let mut year = 1970;
    while day >= 365 + u64::from(leap(year)) {
        day -= 365 + u64::from(leap(year));
        year += 1;
    }
    let months = [
        31,
        28 + u64::from(leap(year)),
        31,
        30,
        31,
        30,
        31,
        31,
        30,
        31,
        30,
        31,
    ];
    let mut month = 0;
    while day >= months[month] {
        day -= months[month];
        month += 1;
    }
    format!("{year}-{:02}-{:02}", month + 1, day + 1)
}
