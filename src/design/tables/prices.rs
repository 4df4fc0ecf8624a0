//! `[prices]`: any names, with plain numbers.

use crate::design::reader::DesignReader;
use crate::design::values::{Value, number};

/// Names and prices, in file order.
pub(in crate::design) fn prices(r: &mut DesignReader<'_>) -> Vec<(String, f64)> {
    if let Some(value) = r.value("prices").filter(|v| v.get_ref().as_table().is_none()) {
        let help = "write [prices] and below it lines like `panel = 12.5`";
        r.error(value.span(), "`prices` must be a table", "", help);
    }
    let mut list = Vec::new();
    for (name, _, value) in r.table("prices") {
        if let Some(price) = price(r, name, value) {
            list.push((name.to_owned(), price));
        }
    }
    list
}

/// One price: a finite number that is not negative, in the builder's currency.
pub(in crate::design) fn price<'a>(r: &mut DesignReader<'a>, name: &str, value: Value<'a>) -> Option<f64> {
    match number(value.get_ref()).filter(|p| p.is_finite() && (0.0..1e12).contains(p)) {
        Some(price) => Some(price),
        None => {
            let title = format!("the price of `{name}` must be a plain number, 0 or more");
            r.error(value.span(), title, "not a price", "write it without currency, like 12.5");
            None
        }
    }
}
