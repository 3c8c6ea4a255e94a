//! `[shop.prices]` and `[[shop.buy]]`: the user's own prices, in the user's own currency.

use shop::list::Prices;

use crate::section::Section;
use crate::tree::Value;

const ASSUMED: &str = "an assumption, to be replaced by your own; common practice, no source";

/// A price that was read, and whether the design states it.
struct Price {
    value: f64,
    stated: bool,
}

/// The prices, and the keys of those that are assumed.
pub(crate) fn prices(section: &Section) -> Option<(Prices, Vec<&'static str>)> {
    let stated = section.optional_text("currency");
    section.default_unless(
        stated.is_some(),
        "currency",
        "EUR",
        "a word of yours, the same in every price",
    );
    let currency = stated.unwrap_or_else(|| "EUR".to_owned());
    let mut assumed = Vec::new();
    let mut read = |key: &'static str, per: &'static str, usual: f64| -> Option<f64> {
        let price = price(section, key, &currency, per, Some(usual))?;
        if !price.stated {
            assumed.push(key);
        }
        Some(price.value)
    };
    let aluminium = read("aluminium", "kg", 7.0);
    let steel = read("steel", "kg", 2.5);
    let stainless = read("stainless", "kg", 8.0);
    let plastic = read("plastic", "kg", 25.0);
    let gasket = read("gasket", "m2", 60.0);
    let cut = read("cut", "m", 4.0);
    let hole = read("hole", "hole", 0.5);
    let bend = read("bend", "bend", 4.0);
    let bolt = read("bolt", "bolt", 0.5);
    let hour = read("hour", "h", 50.0);
    let waste = section.quantity_or(
        "waste",
        measure::Dimension::Share,
        crate::section::Bounds::within(0.0, 5.0),
        0.3,
        ASSUMED,
    );
    let prices = Prices {
        currency: currency.clone(),
        aluminium: aluminium?,
        steel: steel?,
        stainless: stainless?,
        plastic: plastic?,
        gasket: gasket?,
        cut: cut?,
        hole: hole?,
        bend: bend?,
        bolt: bolt?,
        hour: hour?,
        waste: waste?,
    };
    Some((prices, assumed))
}

/// A part that is bought: its name, how many, the price of one.
pub(crate) fn bought(section: &Section, currency: &str) -> Option<(usize, f64)> {
    let count = section.optional_count("count");
    section.default_unless(section.has("count"), "count", "1", "one unless stated");
    if section.has("count") && count.is_none() {
        return None;
    }
    let price = price(section, "price", currency, "", None)?;
    Some((count.unwrap_or(1), price.value))
}

/// A price such as "4 EUR/m".
fn price(
    section: &Section,
    key: &'static str,
    currency: &str,
    per: &str,
    usual: Option<f64>,
) -> Option<Price> {
    let written = |value: f64| {
        if per.is_empty() {
            format!("{value} {currency}")
        } else {
            format!("{value} {currency}/{per}")
        }
    };
    let example = written(usual.unwrap_or(80.0));
    let bare = section
        .node(key)
        .is_some_and(|n| matches!(n.value, Value::Whole(_) | Value::Number(_)));
    if bare {
        let what = format!("{} has no currency and does not say of what", section.key(key));
        section.fault("no-unit", key, what, format!("write {key} = \"{example}\""));
        return None;
    }
    let text = match usual {
        Some(value) => {
            let text = section.optional_text(key);
            section.default_unless(section.has(key), key, &written(value), ASSUMED);
            if !section.has(key) {
                return Some(Price { value, stated: false });
            }
            text?
        }
        None => section.text(key, &example)?,
    };
    let spaced = text.replace('/', " / ");
    let mut words = spaced.split_whitespace();
    let number = words.next().and_then(|w| w.replace(',', ".").parse::<f64>().ok());
    let rest: Vec<&str> = words.collect();
    let due: Vec<&str> = if per.is_empty() {
        vec![currency]
    } else {
        vec![currency, "/", per]
    };
    let Some(value) = number.filter(|v| v.is_finite()) else {
        let what = format!("\"{text}\" does not begin with a number");
        section.fault("unreadable", key, what, format!("write {key} = \"{example}\""));
        return None;
    };
    if rest != due {
        let what = format!(
            "\"{text}\" is not a price in {currency}{}{per}",
            if per.is_empty() { "" } else { "/" }
        );
        let mend = format!(
            "write {key} = \"{}\", or set currency to your word",
            written(value)
        );
        section.fault("wrong-unit", key, what, mend);
        return None;
    }
    if value < 0.0 {
        let what = format!("the price \"{text}\" is below zero");
        let mend = "state what it costs; 0 for what costs nothing".to_owned();
        section.fault("out-of-range", key, what, mend);
        return None;
    }
    Some(Price { value, stated: true })
}
