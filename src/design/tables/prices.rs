//! `[prices]`: any names, with plain numbers, and the currency they are in.

use crate::design::reader::DesignReader;
use crate::design::values::{Value, number, type_name};
use toml::de::DeValue;

/// The one name in `[prices]` that is no part.
const CURRENCY: &str = "currency";
/// Characters of a currency at most.
const LONGEST: usize = 6;

/// Names and prices, in file order, and the currency if one is named.
pub(in crate::design) fn prices(r: &mut DesignReader<'_>) -> (Vec<(String, f64)>, Option<String>) {
    if let Some(value) = r.value("prices").filter(|v| v.get_ref().as_table().is_none()) {
        let help = "write [prices] and below it lines like `panel = 12.5`";
        r.error(value.span(), "`prices` must be a table", "", help);
    }
    let (mut list, mut named) = (Vec::new(), None);
    for (name, _, value) in r.table("prices") {
        if name == CURRENCY {
            named = currency(r, value);
        } else if let Some(price) = price(r, name, value) {
            list.push((name.to_owned(), price));
        }
    }
    (list, named)
}

/// A currency: 1 to 6 letters or currency signs, so that it can neither be taken for a figure nor turn the text around it.
fn currency(r: &mut DesignReader<'_>, value: Value<'_>) -> Option<String> {
    let label = match value.get_ref() {
        DeValue::String(text) => {
            let letters = text.chars().count();
            if (1..=LONGEST).contains(&letters) && text.chars().all(is_of_currency) {
                return Some(text.to_string());
            }
            match letters {
                0 => "empty",
                n if n > LONGEST => "too long",
                _ => "holds something else",
            }
        }
        other => type_name(other),
    };
    let title = "`prices.currency` must be a text of 1 to 6 letters or currency signs";
    r.error(value.span(), title, label, "write currency = \"EUR\" or currency = \"$\", or leave it out");
    None
}

/// Letters that are written from left to right, the full stop of an abbreviation, and currency signs.
fn is_of_currency(c: char) -> bool {
    let right_to_left =
        matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}');
    let sign = matches!(c, '$' | '.' | '¢'..='¥' | '\u{20a0}'..='\u{20cf}');
    sign || c.is_alphabetic() && !right_to_left && c <= '\u{ffff}'
}

/// One price: a finite number that is not negative, in the builder's currency.
pub(in crate::design) fn price<'a>(r: &mut DesignReader<'a>, name: &str, value: Value<'a>) -> Option<f64> {
    match number(value.get_ref()).filter(|p| p.is_finite() && (0.0..1e12).contains(p)) {
        Some(price) => Some(price),
        None => {
            let title = format!("the price of `{name}` must be a plain number, 0 or more");
            let help = "write it without currency, like 12.5; the currency has a line of its own: currency = \"EUR\"";
            r.error(value.span(), title, "not a price", help);
            None
        }
    }
}
