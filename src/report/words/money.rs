//! Amounts of money with the currency that the design names; without one, numbers stand alone.

use crate::report::number;

/// A figure with its currency: `12.50 EUR`.
pub(crate) fn amount(figure: &str, currency: Option<&str>) -> String {
    currency.map_or(figure.to_owned(), |c| format!("{figure}\u{a0}{c}"))
}

/// A price to the hundredth: `12.50 EUR`.
pub(crate) fn price(price: f64, currency: Option<&str>) -> String {
    amount(&number::fixed(price, 2), currency)
}

/// Name of a column or an axis whose figures are money: `price, EUR`.
pub(crate) fn column(name: &str, currency: Option<&str>) -> String {
    currency.map_or(name.to_owned(), |c| format!("{name}, {c}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stands_alone_where_no_currency_is_named() {
        assert_eq!(price(12.5, None), "12.50");
        assert_eq!(price(12.5, Some("EUR")), "12.50\u{a0}EUR");
        assert_eq!(column("price", Some("$")), "price, $");
        assert_eq!(column("price", None), "price");
    }
}
