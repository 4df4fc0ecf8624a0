//! Sentences on the choice from a shelf: the answer, and how far it can be relied on.

use super::input;
use super::money;
use super::names::{count, escaped, trials};
use crate::design::shelf::Kind;
use crate::report::number;
use crate::study::choose::{Candidate, Choice, Standing, Verdict};

/// Builds too close to call that are listed; there may be a hundred.
pub(crate) const OPEN_LISTED: usize = 8;

/// A build as a client would name it: `5 W panel, no battery, 6 V pump, fixed bracket`.
pub(crate) fn build(b: &Candidate) -> String {
    build_of(&b.parts)
}

/// The same without these parts.
pub(crate) fn build_without(b: &Candidate, left_out: &[(Kind, String)]) -> String {
    build_of(&b.parts.iter().filter(|p| !left_out.contains(p)).cloned().collect::<Vec<_>>())
}

/// Parts that every build of several has; none of one alone.
pub(crate) fn in_all(builds: &[Candidate]) -> Vec<(Kind, String)> {
    match builds {
        [first, others @ ..] if !others.is_empty() => {
            first.parts.iter().filter(|p| others.iter().all(|b| b.parts.contains(p))).cloned().collect()
        }
        _ => Vec::new(),
    }
}

/// The same of its parts.
pub(crate) fn build_of(parts: &[(Kind, String)]) -> String {
    parts.iter().map(|(kind, name)| part(*kind, &escaped(name))).collect::<Vec<_>>().join(", ")
}

/// A part by its name: what follows a comma in brackets, "none" as what is missing, and a battery that is called by its label
/// alone as a battery.
fn part(kind: Kind, name: &str) -> String {
    let what = kind.name();
    if name.eq_ignore_ascii_case("none") {
        return format!("no {what}");
    }
    let (head, rest) =
        name.split_once(", ").map_or((name, String::new()), |(head, rest)| (head, format!(" ({rest})")));
    let label =
        kind == Kind::Battery && head.starts_with(|c: char| c.is_ascii_digit()) && !head.contains(what);
    if label { format!("{head} {what}{rest}") } else { format!("{head}{rest}") }
}

/// `96 %`.
pub(crate) fn good_years(b: &Candidate) -> String {
    b.good_years.map_or(number::NOT_COMPUTABLE.to_owned(), number::percent)
}

/// `90 to 98 %`.
pub(crate) fn good_years_limits(b: &Candidate) -> String {
    let per_cent = |share: f64| {
        let text = number::fixed(100.0 * share, usize::from(share > 0.98));
        text.strip_suffix(".0").filter(|t| *t == "100").map(str::to_owned).unwrap_or(text)
    };
    format!("{} to {} %", per_cent(b.good_years_low), per_cent(b.good_years_high))
}

/// The wish that a build is held to.
pub(crate) fn wish(c: &Choice) -> String {
    let s = &c.summary;
    let parts: Vec<String> = s.season.wish.parts.iter().map(|p| super::run::wish_part(s, p.part)).collect();
    format!("The wish: {}; in {} of years.", parts.join("; "), number::percent(c.share_of_years))
}

/// The answer in a sentence or two: three lines of a terminal. What it rests on is in [`shows`].
pub(crate) fn answer(c: &Choice) -> String {
    let wish = format!("the wish in {} of years", number::percent(c.share_of_years));
    let Some(best) = &c.best else { return format!("No build was tried, so none meets {wish}.") };
    let named =
        format!("{}, for {}", build(best), money::price(best.price, c.summary.design.currency.as_deref()));
    match (c.verdict, c.settled) {
        (Verdict::Found, true) => format!("The cheapest build that meets {wish}: {named}."),
        (Verdict::Found, false) => {
            format!("{named}, surely meets {wish}; a cheaper build may do so, too.")
        }
        (Verdict::None, _) => format!("No build from this shelf meets {wish}. The closest: {named}."),
        (Verdict::NotSettled, _) => {
            format!("Not settled: no build from this shelf surely meets {wish}. The closest: {named}.")
        }
    }
}

/// What the build named does, in this weather and at such places; nothing if none is named.
pub(crate) fn shows(c: &Choice, pm: &str) -> Option<String> {
    let best = c.best.as_ref()?;
    let still =
        best.still_days_per_month.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::estimate(e, 2, pm));
    Some(format!(
        "{} of its years are good in this weather, with {still} still days a month.{}",
        good_years(best),
        at_places(c, best)
    ))
}

/// What the weather files leave open about the build named.
fn at_places(c: &Choice, best: &Candidate) -> String {
    let Some((r, still)) = c.summary.weather_input.as_ref().zip(best.still_days_per_month_places_80) else {
        return String::new();
    };
    let see = format!(
        "From {}, gardens of such places see {} still days a month ({})",
        input::files(r),
        input::range(still, 2),
        input::coverage(r)
    );
    match (c.verdict, best.holds_at_places) {
        (Verdict::Found, Some(false)) => {
            format!(
                " {see}: the build meets the wish within the error of the simulation, not within that of the weather files."
            )
        }
        (Verdict::Found, Some(true)) => format!(" {see}; the build meets the wish there, too."),
        (Verdict::Found | Verdict::None | Verdict::NotSettled, _) => format!(" {see}."),
    }
}

/// Where a build stands: `meets`, `fails`; with an asterisk where the weather files leave that open.
pub(crate) fn standing(b: &Candidate) -> &'static str {
    match (b.standing, b.holds_at_places) {
        (Standing::Meets, Some(false)) => "meets*",
        (Standing::Meets, _) => "meets",
        (Standing::Fails, Some(false)) => "fails*",
        (Standing::Fails, _) => "fails",
        (Standing::Open | Standing::Dearer, _) => "",
    }
}

/// What the asterisk of [`standing`] means; nothing where no build has one.
pub(crate) fn asterisk(c: &Choice) -> Option<String> {
    let starred = c.builds.iter().any(|b| b.holds_at_places == Some(false));
    let r = c.summary.weather_input.as_ref().filter(|_| starred)?;
    Some(format!(
        "* In this weather. From {}, more than one place in ten would find otherwise.",
        input::files(r)
    ))
}

/// How far the answer can be relied on.
pub(crate) fn settled(c: &Choice) -> String {
    let rate = number::percent(c.error_rate);
    let tried = format!("{} were tried in {}.", count(c.builds.len(), "build"), trials(c.trials));
    let most = trials(c.budget);
    match (c.verdict, c.settled) {
        (Verdict::Found, true) => format!(
            "{tried} Settled: the chance that a cheaper build meets the wish, or that this one does not, is at most {rate}."
        ),
        (Verdict::None, _) => {
            format!("{tried} Settled: the chance that any of them meets the wish is at most {rate}.")
        }
        (_, false) => format!(
            "{tried} Not settled: {} too close to call after at most {most} each. More --trials may settle it.",
            match c.open.len() {
                1 => "1 cheaper build is".to_owned(),
                n if c.verdict == Verdict::Found => format!("{n} cheaper builds are"),
                n => format!("{} {}", count(n, "build"), if n == 1 { "is" } else { "are" }),
            }
        ),
        (Verdict::NotSettled, true) => tried,
    }
}

/// Heading of the builds that are not settled. Where a build is named, all of these are cheaper.
pub(crate) fn open_heading(c: &Choice) -> &'static str {
    if c.verdict == Verdict::Found { "Cheaper, and too close to call" } else { "Too close to call" }
}

/// Builds that are not settled, without the one named.
pub(crate) fn open_besides(c: &Choice) -> Vec<&Candidate> {
    let named = c.best.as_ref().map(|b| b.place);
    c.open.iter().filter(|b| Some(b.place) != named).collect()
}

/// The parts of the answer that a reader looks for: the build, and its price.
pub(crate) fn named(c: &Choice) -> Vec<String> {
    let currency = c.summary.design.currency.as_deref();
    c.best.iter().flat_map(|b| [build(b), money::price(b.price, currency)]).collect()
}

/// The builds next in price after the one named; none if none is named. Cheaper ones are among those that are not settled.
pub(crate) fn next_in_price(c: &Choice) -> Vec<&Candidate> {
    let Some(named) = c.best.as_ref().filter(|_| c.verdict == Verdict::Found) else { return Vec::new() };
    c.runners_up.iter().filter(|b| b.place > named.place).collect()
}

/// How many combinations are incompatible.
pub(crate) fn incompatible(c: &Choice) -> String {
    format!(
        "{} of {} combinations are incompatible and were not tried:",
        number::grouped((c.combinations - c.builds.len()) as u64),
        number::grouped(c.combinations as u64)
    )
}
