//! The cheapest build of a shelf, for a terminal.

use super::{Page, cut, right, wrap};
use crate::report::style::Style;
use crate::report::{number, words};
use crate::study::choose::Standing;
use crate::study::choose::{Candidate, Choice, Verdict};

/// Reasons of refusal that are listed.
const REASONS: usize = 6;
/// Builds too close to call that are listed; there may be a hundred.
pub const OPEN: usize = 8;

/// The answer, what comes next, what money buys, and what did not go together. Ends in a newline.
pub fn choose(c: &Choice, style: Style) -> String {
    let mut page = Page { style, out: String::new() };
    page.heading(&c.summary);
    if c.shelf_invented {
        page.wrapped("", "Parts and prices of the shelf are invented.");
    }
    page.bold(&answer(c, style.pm()));
    page.wrapped("", &settled(c));
    page.line("");
    page.builds(if c.verdict == Verdict::Found { "Named" } else { "Nearest" }, c.best.as_slice(), 1);
    page.builds(open(c), &c.open, OPEN);
    page.builds("Next in price", next(c), usize::MAX);
    page.builds("What money buys: none cheaper has fewer still days", &c.frontier, usize::MAX);
    let fewer = c.combinations - c.builds.len();
    if fewer > 0 {
        page.wrapped("", &refused(c));
        for r in c.refused.iter().take(REASONS) {
            let text = format!("{}: {} ({})", r.parts.join(" + "), r.why, count(r.builds, "build"));
            for (i, line) in wrap(&page.plain(&words::escaped(&text)), style.columns() - 4).iter().enumerate()
            {
                page.line(&format!("{}{line}", if i == 0 { "  - " } else { "    " }));
            }
        }
        if c.refused.len() > REASONS {
            page.line(&format!("    and {} more, in choose.csv", count(c.refused.len() - REASONS, "reason")));
        }
    }
    for note in &c.notes {
        page.flagged("Note", note);
    }
    for caution in &c.summary.cautions {
        page.flagged("Caution", caution);
    }
    page.out
}

impl Page {
    fn builds(&mut self, heading: &str, list: &[Candidate], most: usize) {
        if list.is_empty() {
            return;
        }
        let row = |cells: [&str; 5]| {
            let [price, still, good, limits, trials] = cells;
            format!("{price:>9}{}{good:>13}{limits:>17}{trials:>8}", right(still, 20))
        };
        self.bold(heading);
        self.dim(&row(["price", "still days a month", "good years", "95 % limits", "trials"]));
        for b in list.iter().take(most) {
            let still = b
                .still_days_per_month
                .map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::estimate(e, 2, self.style.pm()));
            let mark = match b.standing {
                Standing::Meets => "  meets",
                Standing::Fails => "  fails",
                Standing::Open | Standing::Dearer => "",
            };
            let line =
                row([&number::fixed(b.price, 2), &still, &good(b), &limits(b), &number::grouped(b.trials)]);
            self.line(&cut(&format!("{line}{mark}"), self.style.columns()));
            let name = self.plain(&words::escaped(&b.name()));
            self.dim(&format!("         {name}"));
        }
        if list.len() > most {
            self.line(&format!(
                "         and {} more, in choose.csv",
                number::grouped((list.len() - most) as u64)
            ));
        }
        self.line("");
    }
}

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
    let (name, price) = (words::escaped(&best.name()).into_owned(), number::fixed(best.price, 2));
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
    let tried = format!("{} were tried in {}.", count(c.builds.len(), "build"), words::trials(c.trials));
    let most = words::trials(c.budget);
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

fn count(n: usize, what: &str) -> String {
    format!("{} {what}{}", number::grouped(n as u64), if n == 1 { "" } else { "s" })
}
