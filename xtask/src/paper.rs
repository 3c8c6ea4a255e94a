//! Paper as a printer would see it: the tiled templates of the worked example, turned into dots by a program that is not ours
//! (pdftoppm of the Poppler tools), and the bars on every sheet measured on the dots.

use crate::{demo, setup, shell};
use std::path::Path;

/// Dots to the inch, and millimetres to a dot.
const DOTS: u32 = 300;
const DOT: f64 = 25.4 / DOTS as f64;
/// Length that a bar states, and how far a printed one may be off [mm].
const BAR: f64 = 100.0;
const OFF: f64 = 0.2;
/// The ticks at a bar's ends are 4 mm long, those between 1.6 mm: so far from the bar only the ends are met [mm].
const BESIDE: f64 = 2.8;

/// Makes the folder of the bench and measures its templates.
pub fn run() -> Result<(), String> {
    let dots = setup::pdf_to_dots()?;
    let root = shell::root();
    let out = shell::target().join("paper-test");
    if out.exists() {
        std::fs::remove_dir_all(&out).map_err(|e| format!("{} cannot be emptied: {e}", out.display()))?;
    }
    let text = |path: &Path| path.to_string_lossy().into_owned();
    let design = root.join(demo::EXAMPLE).join("shop.toml");
    let shop = out.join("shop");
    let program = text(&shell::program("debug"));
    shell::run_in(&root, &program, &["shop", &text(&design), "--out", &text(&shop)])?;
    let pages = out.join("pages");
    std::fs::create_dir_all(&pages).map_err(|e| format!("{}: {e}", pages.display()))?;
    let pdf = shop.join("plates").join("templates.pdf");
    let dots_to_inch = DOTS.to_string();
    shell::run_in(
        &root,
        &dots,
        &[
            "-r",
            &dots_to_inch,
            "-gray",
            &text(&pdf),
            &text(&pages.join("page")),
        ],
    )?;
    let mut measured = 0;
    let found = std::fs::read_dir(&pages).map_err(|e| format!("{}: {e}", pages.display()))?;
    for page in found.flatten() {
        let name = page.file_name().to_string_lossy().into_owned();
        let bytes = std::fs::read(page.path()).map_err(|e| format!("{name}: {e}"))?;
        let sheet = Sheet::read(&bytes).ok_or_else(|| format!("{name} is no grey picture"))?;
        for (way, bar) in [("across", sheet.lying()), ("up", sheet.standing())] {
            let length = bar.ok_or_else(|| format!("{name} has no bar {way}"))?;
            if (length - BAR).abs() > OFF {
                return Err(format!(
                    "the bar {way} on {name} is {length:.2} mm long and says {BAR} mm"
                ));
            }
            println!("{name}: the bar {way} is {length:.2} mm");
        }
        measured += 1;
    }
    if measured < 2 {
        return Err(format!(
            "only {measured} sheets of templates came out of {}",
            pdf.display()
        ));
    }
    Ok(())
}

/// A page in shades of grey, seen with its lower left corner at (0, 0).
struct Sheet {
    wide: usize,
    tall: usize,
    shades: Vec<u8>,
}

impl Sheet {
    /// Reads a binary PGM of eight bits.
    fn read(bytes: &[u8]) -> Option<Sheet> {
        let mut at = 0;
        let mut word = || {
            let begin = at + bytes[at..].iter().position(|b| !b.is_ascii_whitespace())?;
            let end = begin + bytes[begin..].iter().position(u8::is_ascii_whitespace)?;
            at = end;
            std::str::from_utf8(&bytes[begin..end]).ok()
        };
        if word()? != "P5" {
            return None;
        }
        let (wide, tall) = (word()?.parse().ok()?, word()?.parse().ok()?);
        if word()? != "255" {
            return None;
        }
        let shades = bytes.get(at + 1..)?.to_vec();
        (shades.len() == wide * tall).then_some(Sheet { wide, tall, shades })
    }

    fn dark(&self, x: usize, y: usize) -> bool {
        self.shades[x + self.wide * (self.tall - 1 - y)] < 200
    }

    /// Length of the bar nearest the lower edge [mm].
    fn lying(&self) -> Option<f64> {
        bar(self.tall, self.wide, |along, out| self.dark(along, out))
    }

    /// Length of the bar nearest the left edge [mm].
    fn standing(&self) -> Option<f64> {
        bar(self.wide, self.tall, |along, out| self.dark(out, along))
    }
}

/// From the page's edge inward the first line of nearly the bar's length; between the middles of the ticks at its ends [mm].
fn bar(depth: usize, length: usize, dark: impl Fn(usize, usize) -> bool) -> Option<f64> {
    let due = (0.9 * BAR / DOT) as usize;
    let line = (0..depth).find(|out| {
        let mut run = 0;
        (0..length).any(|along| {
            run = if dark(along, *out) { run + 1 } else { 0 };
            run > due
        })
    })?;
    let beside = line.checked_sub((BESIDE / DOT) as usize)?;
    let ticks: Vec<usize> = (0..length).filter(|along| dark(*along, beside)).collect();
    let (first, last) = (*ticks.first()?, *ticks.last()?);
    let wide = |from: usize, step: isize| {
        (0..)
            .take_while(|n| {
                from.checked_add_signed(n * step)
                    .is_some_and(|a| ticks.contains(&a))
            })
            .count()
    };
    let middle = |edge: usize, step: isize| edge as f64 + 0.5 * step as f64 * (wide(edge, step) as f64 - 1.0);
    Some((middle(last, -1) - middle(first, 1)) * DOT)
}
