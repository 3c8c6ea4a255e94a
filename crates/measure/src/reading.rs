//! Reads a quantity written as text with its unit.

use crate::units::{self, UNITS};
use crate::{Dimension, nearest};

/// Why a text is not the quantity that is due.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityFault {
    /// Nothing there.
    Empty {
        /// What should stand there.
        due: Dimension,
    },
    /// The text does not begin with a number that can be read.
    NoNumber {
        /// As written.
        text: String,
        /// What should stand there.
        due: Dimension,
    },
    /// A comma that may part thousands or decimals: "1,500".
    UnclearComma {
        /// As written.
        text: String,
        /// What should stand there.
        due: Dimension,
    },
    /// A bare number.
    NoUnit {
        /// As written.
        text: String,
        /// What should stand there.
        due: Dimension,
    },
    /// A unit nobody knows.
    UnknownUnit {
        /// As written.
        text: String,
        /// The unit in it.
        unit: String,
        /// The nearest unit that would do.
        nearest: Option<&'static str>,
        /// What should stand there.
        due: Dimension,
    },
    /// A unit of something else.
    WrongDimension {
        /// As written.
        text: String,
        /// The unit in it.
        unit: String,
        /// What the unit measures.
        found: Dimension,
        /// What should stand there.
        due: Dimension,
    },
    /// Too large to be a number, or below absolute zero.
    OutOfReach {
        /// As written.
        text: String,
        /// What should stand there.
        due: Dimension,
    },
}

impl QuantityFault {
    /// What is wrong, as a sentence without a full stop.
    pub fn what(&self) -> String {
        match self {
            QuantityFault::Empty { due } => format!("nothing stands where {} is due", due.with_article()),
            QuantityFault::NoNumber { text, due } => {
                format!(
                    "\"{text}\" does not begin with a number; {} is due",
                    due.with_article()
                )
            }
            QuantityFault::UnclearComma { text, .. } => {
                format!("the comma or point in \"{text}\" may part thousands or decimals")
            }
            QuantityFault::NoUnit { text, due } => {
                format!("\"{text}\" carries no unit; {} is due", due.with_article())
            }
            QuantityFault::UnknownUnit { text, unit, due, .. } => {
                format!(
                    "\"{text}\": \"{unit}\" is no known unit; {} is due",
                    due.with_article()
                )
            }
            QuantityFault::WrongDimension {
                text,
                unit,
                found,
                due,
            } => format!(
                "\"{text}\": \"{unit}\" makes it {}; {} is due",
                found.with_article(),
                due.with_article()
            ),
            QuantityFault::OutOfReach { text, due } => {
                format!("\"{text}\" is beyond any {due}")
            }
        }
    }

    /// How to mend it, as a sentence without a full stop.
    pub fn mend(&self) -> String {
        let due = self.due();
        let (metric, inch) = due.examples();
        match self {
            QuantityFault::UnclearComma { text, .. } if !text.contains('.') => {
                format!(
                    "write \"{}\" or \"{}\"",
                    clipped(&text.replacen(',', ".", 1)),
                    clipped(&text.replacen(',', "", 1))
                )
            }
            QuantityFault::UnclearComma { .. } => {
                format!("leave out what parts the thousands, for instance \"{metric}\" or \"{inch}\"")
            }
            QuantityFault::UnknownUnit {
                nearest: Some(near), ..
            } => {
                format!("did you mean \"{near}\"? Write it for instance as \"{metric}\" or \"{inch}\"")
            }
            _ => format!("write it for instance as \"{metric}\" or \"{inch}\""),
        }
    }

    /// What is due.
    pub fn due(&self) -> Dimension {
        match self {
            QuantityFault::Empty { due }
            | QuantityFault::NoNumber { due, .. }
            | QuantityFault::UnclearComma { due, .. }
            | QuantityFault::NoUnit { due, .. }
            | QuantityFault::UnknownUnit { due, .. }
            | QuantityFault::WrongDimension { due, .. }
            | QuantityFault::OutOfReach { due, .. } => *due,
        }
    }
}

impl std::fmt::Display for QuantityFault {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "{}; {}", self.what(), self.mend())
    }
}

impl std::error::Error for QuantityFault {}

/// The quantity written in `text`, in SI (see [`Dimension`]).
///
/// A number, then a unit: "35 mm", "1-1/2 in", "3/8\"", "110 °C", "92 lbf.in", "0,9 g". The decimal sign is a
/// point or a comma; thousands are not parted. "g" is an acceleration only where one is due. Quarts, gallons
/// and fluid ounces are the US ones. A bare number is read only where a share is due.
pub fn read(text: &str, due: Dimension) -> Result<f64, QuantityFault> {
    let written = || clipped(text.trim());
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityFault::Empty { due });
    }
    let (number, unit) = match number_and_rest(text) {
        Ok(parts) => parts,
        Err(Slip::NoNumber) => return Err(QuantityFault::NoNumber { text: written(), due }),
        Err(Slip::UnclearComma) => return Err(QuantityFault::UnclearComma { text: written(), due }),
    };
    let value = if unit.is_empty() {
        if !due.takes_bare_numbers() {
            return Err(QuantityFault::NoUnit { text: written(), due });
        }
        number
    } else {
        let name = units::normal(unit);
        match units::find(&name, due) {
            Some(unit) => number * unit.factor + unit.offset,
            None => return Err(wrong_unit(written(), unit, &name, due)),
        }
    };
    if !value.is_finite() || (due == Dimension::Temperature && value < 0.0) {
        return Err(QuantityFault::OutOfReach { text: written(), due });
    }
    Ok(value)
}

fn wrong_unit(text: String, unit: &str, name: &str, due: Dimension) -> QuantityFault {
    let others = || Dimension::ALL.into_iter().filter(|d| *d != due);
    let found = others()
        .find(|d| UNITS.iter().any(|u| u.dimension == *d && u.names.contains(&name)))
        .or_else(|| others().find(|d| units::find(name, *d).is_some()));
    let unit = clipped(unit);
    match found {
        Some(found) => QuantityFault::WrongDimension {
            text,
            unit,
            found,
            due,
        },
        None => {
            let known = UNITS
                .iter()
                .filter(|u| u.dimension == due)
                .flat_map(|u| u.names.iter().copied());
            QuantityFault::UnknownUnit {
                text,
                unit,
                nearest: nearest(name, known),
                due,
            }
        }
    }
}

/// A text short enough for a message.
fn clipped(text: &str) -> String {
    const MOST: usize = 60;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}

enum Slip {
    NoNumber,
    UnclearComma,
}

/// The number at the front, and the trimmed rest.
fn number_and_rest(text: &str) -> Result<(f64, &str), Slip> {
    let (sign, text) = match text.chars().next() {
        Some('-' | '−') => (-1.0, &text[text.chars().next().map_or(0, char::len_utf8)..]),
        Some('+') => (1.0, &text[1..]),
        _ => (1.0, text),
    };
    let (first, rest) = decimal(text.trim_start())?;
    let Some(whole) = first.whole else {
        return Ok((sign * first.value, rest.trim_start()));
    };
    // "3/8 in": the first number was the upper part of a fraction.
    if let Some((lower, rest)) = rest.strip_prefix('/').and_then(whole_number) {
        return match lower {
            0 => Err(Slip::NoNumber),
            lower => Ok((sign * whole as f64 / lower as f64, rest.trim_start())),
        };
    }
    // "1-1/2 in", "1 1/2 in"
    if let Some((upper, after)) = rest.strip_prefix(['-', ' ']).and_then(whole_number)
        && let Some((lower, rest)) = after.strip_prefix('/').and_then(whole_number)
    {
        return match lower {
            0 => Err(Slip::NoNumber),
            lower => Ok((
                sign * (whole as f64 + upper as f64 / lower as f64),
                rest.trim_start(),
            )),
        };
    }
    Ok((sign * first.value, rest.trim_start()))
}

struct Decimal {
    value: f64,
    /// Set when it was written with figures only.
    whole: Option<u64>,
}

fn figures(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

fn whole_number(text: &str) -> Option<(u64, &str)> {
    let (number, rest) = figures(text);
    Some((number.parse().ok()?, rest))
}

fn decimal(text: &str) -> Result<(Decimal, &str), Slip> {
    let (whole, mut rest) = figures(text);
    let mut fraction = "";
    let mut parted = false;
    if let Some(after) = rest.strip_prefix(['.', ',']) {
        let (found, after) = figures(after);
        if !found.is_empty() {
            // "1,500" is one and a half to some and fifteen hundred to others; "0,500" is clear.
            let unclear = rest.starts_with(',') && found.len() == 3 && !whole.is_empty() && whole != "0";
            if unclear
                || after.starts_with([',', '.']) && after[1..].starts_with(|c: char| c.is_ascii_digit())
            {
                return Err(Slip::UnclearComma);
            }
            fraction = found;
            rest = after;
            parted = true;
        }
    }
    if whole.is_empty() && fraction.is_empty() {
        return Err(Slip::NoNumber);
    }
    let mut number = format!("{whole}.{fraction}0");
    let mut powered = false;
    if let Some(after) = rest.strip_prefix(['e', 'E']) {
        let (sign, after) = match after.strip_prefix('-') {
            Some(after) => ("-", after),
            None => ("", after.strip_prefix('+').unwrap_or(after)),
        };
        let (power, after) = figures(after);
        if !power.is_empty() {
            number = format!("{number}e{sign}{power}");
            rest = after;
            powered = true;
        }
    }
    let value = number.parse().map_err(|_| Slip::NoNumber)?;
    let whole = if parted || powered {
        None
    } else {
        whole.parse().ok()
    };
    Ok((Decimal { value, whole }, rest))
}
