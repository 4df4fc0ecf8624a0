//! Text to quantity: `"10 W"`, `"10 W ± 5 %"`, `"10 ± 0.5 W"`, `"8 to 12 W"`,
//! `"8 to 12 W, likely 10 W"`.

use std::ops::Range;

use super::dimension::Unit;
use super::{Dimension, Spread, Uncertain};

/// Why a text is not a quantity of the wanted kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{title}: {help}")]
#[non_exhaustive]
pub struct QuantityError {
    /// Bytes of the text that are at fault.
    pub span: Range<usize>,
    /// What is wrong, in one line.
    pub title: String,
    /// What to say right at the span.
    pub label: String,
    /// How to correct it.
    pub help: String,
}

/// Ways to write a half-width.
const PLUS_MINUS: [&str; 3] = ["±", "+/-", "+-"];

/// Reads a quantity of kind `wanted`, in its base unit.
///
/// `±` is an expanded uncertainty (k = 2), in the unit of the value or in % of it (for shares: in
/// points); `to` and `likely` give a rectangle or a triangle. The first values of a text may leave
/// their unit to the last.
///
/// # Errors
/// Anything else: no number, decimal comma, no or a wrong unit, a range that does not rise, a value
/// that is not finite.
pub fn parse(text: &str, wanted: Dimension) -> Result<Uncertain, QuantityError> {
    let reader = Reader { text, wanted };
    if let Some((at, sign)) = find_plus_minus(text) {
        let value = reader.part(0..at)?;
        let half = reader.part(at + sign.len()..text.len())?;
        return reader.normal(&value, &half);
    }
    if let Some(to) = find_word(text, "to") {
        let comma = text[to.end..].find(',').map(|at| to.end + at);
        let from = reader.part(0..to.start)?;
        let upto = reader.part(to.end..comma.unwrap_or(text.len()))?;
        let likely = match comma {
            None => None,
            Some(at) => {
                let rest = at + 1..text.len();
                match find_word(&text[rest.clone()], "likely") {
                    Some(w) if text[rest.start..rest.start + w.start].trim().is_empty() => {
                        Some(reader.part(rest.start + w.end..text.len())?)
                    }
                    _ => {
                        return Err(reader.error(
                            rest,
                            "expected `likely` after the comma",
                            "not understood",
                        ));
                    }
                }
            }
        };
        return reader.range(&from, &upto, likely.as_ref());
    }
    let value = reader.part(0..text.len())?;
    let unit = reader.unit(&value, None)?;
    Ok(Uncertain::exact(reader.finite(&value, unit)?))
}

/// Reads a duration that must be exact, in minutes; a sign is allowed.
///
/// # Errors
/// As [`parse`]; also an uncertain one.
pub fn duration_min(text: &str) -> Result<f64, QuantityError> {
    let value = parse(text, Dimension::Duration)?;
    if value.is_exact() {
        return Ok(value.nominal);
    }
    let reader = Reader { text, wanted: Dimension::Duration };
    Err(reader.error(
        0..text.len(),
        "this duration must be a single exact value",
        "no uncertainty allowed here",
    ))
}

/// A number with the unit written after it, if any.
struct Part<'a> {
    number: f64,
    span: Range<usize>,
    unit: &'a str,
    unit_span: Range<usize>,
}

struct Reader<'a> {
    text: &'a str,
    wanted: Dimension,
}

impl<'a> Reader<'a> {
    fn error(&self, span: Range<usize>, title: impl Into<String>, label: impl Into<String>) -> QuantityError {
        let help = format!("{} is written like \"{}\"", self.wanted.name(), self.wanted.example());
        QuantityError { span, title: title.into(), label: label.into(), help }
    }

    /// Splits one stretch of the text into number and unit.
    fn part(&self, span: Range<usize>) -> Result<Part<'a>, QuantityError> {
        let stretch = &self.text[span.clone()];
        let body = stretch.trim();
        let start = span.start + (stretch.len() - stretch.trim_start().len());
        let end = start + body.len();
        if body.is_empty() {
            return Err(self.error(span, "a number is missing", "nothing here"));
        }
        let length = number_length(body);
        let digits = body[..length].replace('−', "-");
        let number = match digits.parse::<f64>() {
            Ok(number) if length > 0 => number,
            _ => {
                let word = body.split_whitespace().next().unwrap_or(body);
                let title = format!("`{word}` is not a number");
                return Err(self.error(start..start + word.len(), title, "a number must come first"));
            }
        };
        if body[length..].starts_with(',') && body[length + 1..].starts_with(|c: char| c.is_ascii_digit()) {
            let title = "a number must not contain a comma";
            let at = start + length;
            let mut error = self.error(at..at + 1, title, "decimal comma or thousands separator?");
            error.help = "use a decimal point and no thousands separator: 1.5 or 1500".into();
            return Err(error);
        }
        let rest = &body[length..];
        let unit = rest.trim_start();
        Ok(Part { number, span: start..start + length, unit, unit_span: end - unit.len()..end })
    }

    /// The unit of a part, or the one it may borrow.
    fn unit(&self, part: &Part<'a>, lender: Option<&Part<'a>>) -> Result<&'static Unit, QuantityError> {
        let (name, span) = match (part.unit, lender) {
            ("", Some(lender)) => (lender.unit, lender.unit_span.clone()),
            _ => (part.unit, part.unit_span.clone()),
        };
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(unit) = self.wanted.unit_named(&name) {
            return Ok(unit);
        }
        if name.is_empty() {
            let title = format!("a unit is missing: {} is expected", self.wanted.name());
            return Err(self.error(part.span.clone(), title, "in which unit?"));
        }
        let title = match Dimension::of_unit(&name) {
            _ if self.wanted == Dimension::Number => {
                format!("unexpected unit `{name}`: this is a plain number")
            }
            Some(found) => {
                format!("`{name}` is a unit of {}, but {} is expected", noun(found), self.wanted.name())
            }
            None => format!("`{name}` is not a unit of {}", noun(self.wanted)),
        };
        let mut error = self.error(span, title, "wrong unit");
        if name.starts_with(['-', '–', '—']) {
            error.help = format!("a range is written like \"8 to 12 {}\"", self.wanted.base_unit());
        } else if let Some(meant) = self.meant(&name) {
            error.help = format!("did you mean `{meant}`? {}", error.help);
        }
        Err(error)
    }

    /// The unit that differs from `name` only by capitals or blanks.
    fn meant(&self, name: &str) -> Option<&'static str> {
        let plain = |s: &str| s.replace(' ', "").to_lowercase();
        self.wanted.units().iter().flat_map(|u| u.names).copied().find(|n| plain(n) == plain(name))
    }

    fn finite(&self, part: &Part<'a>, unit: &Unit) -> Result<f64, QuantityError> {
        let value = part.number * unit.factor + unit.offset;
        if value.is_finite() {
            return Ok(value);
        }
        Err(self.error(part.span.clone(), "the number is too large", "not finite"))
    }

    fn normal(&self, value: &Part<'a>, half: &Part<'a>) -> Result<Uncertain, QuantityError> {
        let in_points = matches!(self.wanted, Dimension::Share | Dimension::ShareAMonth);
        let relative = half.unit == "%" && !in_points;
        let unit = self.unit(value, (!relative).then_some(half))?;
        let nominal = self.finite(value, unit)?;
        if half.number < 0.0 {
            return Err(self.error(half.span.clone(), "an uncertainty must not be negative", "negative"));
        }
        let width = if relative {
            if self.wanted == Dimension::Temperature {
                let title = "a temperature's uncertainty must be in degrees, not in %";
                return Err(self.error(half.unit_span.clone(), title, "write degrees"));
            }
            nominal.abs() * half.number / 100.0
        } else {
            half.number * self.unit(half, Some(value))?.factor
        };
        if !width.is_finite() {
            return Err(self.error(half.span.clone(), "the number is too large", "not finite"));
        }
        // k = 2 (JCGM 100:2008, 6.2.1): the stated half-width is two standard deviations.
        let spread = if width == 0.0 { Spread::Exact } else { Spread::Normal { sd: 0.5 * width } };
        Ok(Uncertain { nominal, spread })
    }

    fn range(
        &self,
        from: &Part<'a>,
        upto: &Part<'a>,
        likely: Option<&Part<'a>>,
    ) -> Result<Uncertain, QuantityError> {
        let upto_unit = self.unit(upto, likely)?;
        let lender = if upto.unit.is_empty() { likely } else { Some(upto) };
        let lo = self.finite(from, self.unit(from, lender)?)?;
        let hi = self.finite(upto, upto_unit)?;
        if lo >= hi {
            let title = "a range must go from the lower value to the higher";
            return Err(self.error(from.span.start..upto.span.end, title, "not in increasing order"));
        }
        let Some(likely) = likely else { return Ok(Uncertain::between(lo, hi)) };
        let mode = self.finite(likely, self.unit(likely, Some(upto))?)?;
        if !(lo..=hi).contains(&mode) {
            let title = "the likely value lies outside the range";
            return Err(self.error(likely.span.clone(), title, "outside the range"));
        }
        Ok(Uncertain::likely(lo, mode, hi))
    }
}

/// The name of a kind without its article.
fn noun(dimension: Dimension) -> &'static str {
    let name = dimension.name();
    name.split_once(' ').map_or(name, |(_, noun)| noun)
}

fn find_plus_minus(text: &str) -> Option<(usize, &'static str)> {
    PLUS_MINUS.iter().filter_map(|&sign| text.find(sign).map(|at| (at, sign))).min()
}

/// Finds `word` standing between blanks.
fn find_word(text: &str, word: &str) -> Option<Range<usize>> {
    text.match_indices(word).map(|(at, _)| at..at + word.len()).find(|range| {
        text[..range.start].chars().next_back().is_none_or(char::is_whitespace)
            && text[range.end..].chars().next().is_none_or(char::is_whitespace)
    })
}

/// Bytes of the number at the start of `text`: sign, digits, point, exponent.
fn number_length(text: &str) -> usize {
    let sign = text.chars().next().filter(|c| matches!(c, '+' | '-' | '−')).map_or(0, char::len_utf8);
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let whole = digits(sign);
    let mut end = sign + whole;
    let mut fraction = 0;
    if bytes.get(end) == Some(&b'.') {
        fraction = digits(end + 1);
        end += 1 + fraction;
    }
    if whole + fraction == 0 {
        return 0;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let signed = end + 1 + usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = bytes.get(signed..).map_or(0, |_| digits(signed));
        if exponent > 0 {
            end = signed + exponent;
        }
    }
    end
}
