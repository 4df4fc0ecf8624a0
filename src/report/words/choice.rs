//! Sentences on the choice from a shelf: the answer, and how far it can be relied on.

use super::names::{count, escaped, trials};
use crate::report::number;
use crate::study::choose::{Candidate, Choice, Verdict};

/// Builds too close to call that are listed; there may be a hundred.
pub const OPEN: usize = 8;

/// `96 %`.
pub fn good(b: &Candidate) -> String {
    b.good_years.map_or(number::NOT_COMPUTABLE.to_owned(), number::percent)
}

/// `90 to 98 %`.
pub fn limits(b: &Candidate) -> String {
    let per_cent = |share: f64| {
        let text = number::fixed(100.0 * share, usize::from(share > 0.98));
        text.strip_suffix(".0").filter(|t| *t == "100").map(str::to_owned).unwrap_or(text)
    };
    format!("{} to {} %", per_cent(b.good_years_low), per_cent(b.good_years_high))
}

/// What is wished, in words that follow "that".
pub fn wish(c: &Choice) -> String {
    let days = number::given(c.still_days);
    format!(
        "keeps each month to at most {days} still {} in {} of years",
        if c.still_days == 1.0 { "day" } else { "days" },
        number::percent(c.share_of_years)
    )
}

/// The answer in two sentences.
pub fn answer(c: &Choice, pm: &str) -> String {
    let wish = wish(c);
    let Some(best) = &c.best else { return format!("No build was tried, so none {wish}.") };
    let (name, price) = (escaped(&best.name()).into_owned(), number::fixed(best.price, 2));
    let still =
        best.still_days_per_month.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::estimate(e, 2, pm));
    let shows = format!("{} of its years are good, with {still} still days a month.", good(best));
    match (c.verdict, c.settled) {
        (Verdict::Found, true) => {
            format!("The cheapest build that {wish}: {name}, for {price}. {shows}")
        }
        (Verdict::Found, false) => {
            format!(
                "A build that surely {wish}, though perhaps not the cheapest: {name}, for {price}. {shows}"
            )
        }
        (Verdict::None, _) => {
            format!("No build of this shelf {wish}. The nearest is {name}, for {price}: {shows}")
        }
        (Verdict::NotSettled, _) => {
            format!(
                "Not settled: no build of this shelf surely {wish}. The nearest is {name}, for {price}: {shows}"
            )
        }
    }
}

/// How far the answer can be relied on.
pub fn settled(c: &Choice) -> String {
    let rate = number::percent(c.error_rate);
    let tried = format!("{} were tried in {}.", count(c.builds.len(), "build"), trials(c.trials));
    let most = trials(c.budget);
    match (c.verdict, c.settled) {
        (Verdict::Found, true) => format!(
            "{tried} Settled: the chance that a cheaper one would do, or that this one does not, is at most {rate}."
        ),
        (Verdict::None, _) => {
            format!("{tried} Settled: the chance that one of them would do is at most {rate}.")
        }
        (_, false) => format!(
            "{tried} Not settled: {} too close to call within {most} each; more --trials tell more.",
            match c.open.len() {
                1 => "1 cheaper build is".to_owned(),
                n if c.verdict == Verdict::Found => format!("{n} cheaper builds are"),
                n => format!("{} {}", count(n, "build"), if n == 1 { "is" } else { "are" }),
            }
        ),
        (Verdict::NotSettled, true) => tried,
    }
}

/// What heads the builds that are still in question: they are all cheaper only where one is named.
pub fn open(c: &Choice) -> &'static str {
    if c.verdict == Verdict::Found { "Cheaper, and too close to call" } else { "Too close to call" }
}

/// What comes next in price; where none is named, those in question are that already.
pub fn next(c: &Choice) -> &[Candidate] {
    if c.verdict == Verdict::Found { &c.runners_up } else { &[] }
}

/// How many builds did not go together.
pub fn refused(c: &Choice) -> String {
    format!(
        "{} of {} combinations do not go together and were not tried:",
        number::grouped((c.combinations - c.builds.len()) as u64),
        number::grouped(c.combinations as u64)
    )
}
