//! The answer of a comparison in one sentence: which design is best for the whole wish, how surely, at what price.

use super::money;
use super::names::quoted;
use super::run::years_share;
use crate::tally::{Meets, Summary};

/// The sentence. Of designs that surely meet the wish the cheapest is best, or, if a price is missing or in another currency, the one that does in most years;
/// of others the one that comes closest.
pub(crate) fn best(designs: &[Summary]) -> String {
    let met: Vec<&Summary> = designs.iter().filter(|s| s.season.wish.meets == Meets::Yes).collect();
    let years = |s: &Summary| years_share(s.season.wish.years_met, s.season.wish.years_met_95);
    let most = |a: &&&Summary, b: &&&Summary| a.season.wish.years_met.total_cmp(&b.season.wish.years_met);
    let price = |s: &Summary| {
        s.design
            .price
            .map_or(String::new(), |p| format!(", for {}", money::price(p, s.design.currency.as_deref())))
    };
    // Prices in two currencies cannot be compared.
    let all_priced =
        met.iter().all(|s| s.design.price.is_some() && s.design.currency == met[0].design.currency);
    let best = match all_priced {
        true => {
            met.iter().min_by(|a, b| a.design.price.unwrap_or(0.0).total_cmp(&b.design.price.unwrap_or(0.0)))
        }
        false => met.iter().max_by(most),
    };
    if let Some(s) = best {
        let others = match (met.len(), all_priced) {
            (1, _) => "the only one of these designs that surely does".to_owned(),
            (n, true) => format!("the cheapest of the {n} that surely do"),
            (n, false) => format!("the most reliable of the {n} that surely do"),
        };
        return format!(
            "{} meets the whole wish in {} of years{}: {others}.",
            quoted(&s.design.title),
            years(s),
            price(s)
        );
    }
    let all: Vec<&Summary> = designs.iter().collect();
    all.iter().max_by(most).map_or(String::new(), |s| {
        let none = if designs.len() == 1 {
            "The design does not surely meet"
        } else {
            "None of these designs surely meets"
        };
        format!(
            "{none} the whole wish. Closest is {}, in {} of years{}.",
            quoted(&s.design.title),
            years(s),
            price(s)
        )
    })
}
