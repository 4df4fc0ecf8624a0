//! From a file's text to a design: all of reading, in order. Changed designs are read the same way (`patch`).

use std::io::Read as _;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use sha2::{Digest, Sha256};
use toml::de::DeTable;

use super::learned::LearnedUnits;
use super::other_kind::OtherKind;
use super::reader::{DesignReader, Input};
use super::remedy::{self, Remedy};
use super::whole::Design;
use super::{fit, known, tables};
use crate::disk::read;
use crate::source::{Problem, Problems, Severity};
use crate::units::Uncertain;

/// Largest design file that is read, bytes.
pub const SIZE_MAX: u64 = 1_000_000;

/// A design that passed all checks, and where it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct DesignFile {
    /// The design.
    pub design: Design<Uncertain>,
    /// The file, as the user named it.
    pub path: PathBuf,
    /// What was changed against the file, if anything.
    pub variant: Option<String>,
    /// Its text; of a changed design: as if it had been written so.
    pub text: String,
    /// SHA-256 of the text, and of its learned units if it has any; hexadecimal.
    pub sha256: String,
    /// Learned units from which its parts are drawn.
    pub learned: Option<Arc<LearnedUnits>>,
    /// Every value the design rests on, given or by default.
    pub inputs: Vec<Input>,
    /// Its `[[remedy]]` tables, in file order.
    pub remedies: Vec<Remedy>,
    /// What was found odd, with places.
    pub warnings: Problems,
    /// Whether its parts must work together.
    pub(super) fit: Fit,
}

/// Whether the parts of a design must work together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fit {
    /// A design that cannot work is refused, and one that works badly warned about.
    Checked,
    /// Not asked: for a design whose parts are yet to be chosen.
    Open,
}

impl DesignFile {
    /// What was found odd, one line each.
    pub fn warning_lines(&self) -> Vec<String> {
        self.warnings.list.iter().map(Problem::one_line).collect()
    }

    /// The weather files, found from the place of the design file.
    pub fn weather_paths(&self) -> Vec<PathBuf> {
        let folder = self.path.parent().unwrap_or(Path::new(""));
        self.design.site.weather.iter().map(|w| folder.join(w)).collect()
    }
}

/// The text of a file of this kind.
pub(super) fn text_of(path: &Path, kind: &str) -> Result<String, Problems> {
    let name = path.display().to_string();
    let fail = |title: String| Problems::from(Problem::error(title).in_file(&name));
    let file = read::open(path).map_err(|e| fail(format!("cannot be opened: {e}")))?;
    let mut bytes = Vec::new();
    file.take(SIZE_MAX + 1).read_to_end(&mut bytes).map_err(|e| fail(format!("cannot be read: {e}")))?;
    if bytes.len() as u64 > SIZE_MAX {
        return Err(fail(format!("larger than {} kB: this is not a {kind} file", SIZE_MAX / 1000)));
    }
    String::from_utf8(bytes).map_err(|e| {
        let line = e.as_bytes()[..e.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count() + 1;
        fail(format!("line {line} is not UTF-8 text: save the file as UTF-8"))
    })
}

/// A mistake in the syntax: it shifts what follows, so only the first is worth showing.
pub(super) fn not_toml(name: &str, text: &str, error: &toml::de::Error) -> Problems {
    let title = format!("invalid TOML: {}", error.message());
    Problem::error(title).at(name, text, error.span().unwrap_or(0..0), "").into()
}

/// Reads a design from its text, which is called `name` in messages. Its remedies are read but not tried; gives the places
/// where they stand, too.
///
/// # Errors
/// Everything that is wrong with it.
pub(super) fn parse_alone(
    name: &str,
    path: &Path,
    text: String,
    fit: Fit,
) -> Result<(DesignFile, Vec<Range<usize>>), Problems> {
    let root = DeTable::parse(&text).map_err(|e| not_toml(name, &text, &e))?;
    if let Some(kind) = OtherKind::of(root.get_ref()) {
        return Err(kind.refused(name).into());
    }
    let mut reader = DesignReader::new(name, &text, root.get_ref());
    let design = design(&mut reader, path);
    let remedies = remedy::remedies(&mut reader);
    known::refuse_unknown(&mut reader);
    let idle = known::warn_unused(&mut reader);
    // What has no effect is not drawn: it must not count among the uncertain ones.
    let exact = |key: &str, q: &Uncertain| if idle.contains(&key) { Uncertain::exact(q.nominal) } else { *q };
    let design = design.map(|d| d.map(&mut |key, q| exact(key, q)));
    if let Some(design) = design.as_ref().filter(|_| fit == Fit::Checked && !reader.problems.any_error()) {
        parts_fit(&mut reader, design);
    }
    let DesignReader { mut problems, inputs, .. } = reader;
    problems.sort();
    let refused = |problems: Problems| {
        // Errors first: who corrects them does not want warnings in between.
        let mut list = problems.list;
        list.sort_by_key(|p| p.severity == Severity::Warning);
        Err(Problems { list })
    };
    let Some(design) = design.filter(|_| !problems.any_error()) else {
        if !problems.any_error() {
            // Every refusal above notes its reason; this one would be a fault of the checker.
            problems.push(Problem::error("this design cannot be read").in_file(name));
        }
        return refused(problems);
    };
    let sha256 = Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect();
    let (remedies, places) = remedies.into_iter().unzip();
    let path = path.to_owned();
    let file = DesignFile {
        design,
        path,
        variant: None,
        text,
        sha256,
        learned: None,
        inputs,
        remedies,
        warnings: problems,
        fit,
    };
    Ok((file, places))
}

/// Refuses a design whose parts cannot work together, and warns of parts that do not go well together.
fn parts_fit(r: &mut DesignReader<'_>, design: &Design<Uncertain>) {
    let (severity, misfits) = fit::found(design);
    for misfit in misfits {
        let (places, help) = misfit.rule.places();
        r.at_odds(severity, misfit.why, places, help);
    }
}

/// All tables, in the order in which their inputs are recorded.
fn design(r: &mut DesignReader<'_>, path: &Path) -> Option<Design<Uncertain>> {
    let stem = path.file_stem().map_or_else(|| "design".into(), |s| s.to_string_lossy().into_owned());
    let title = r.string("title").map_or(stem, |(_, text)| text.trim().to_owned());
    let site = tables::site(r);
    let wish = tables::wish(r);
    let panel = tables::panel(r);
    let mount = tables::mount(r);
    let has_battery = r.given("battery");
    let battery = if has_battery { tables::battery(r) } else { None };
    // The pump's draw decides whether a reconnect voltage chatters.
    let pump = tables::pump(r);
    let draw_a = pump.as_ref().and_then(|p| p.bench.last()).map(|p| p.current_a.nominal);
    let electronics = tables::electronics(r, battery.as_ref(), draw_a);
    let parts = tables::Controlled {
        battery: battery.as_ref(),
        electronics: electronics.as_ref(),
        pump: pump.as_ref(),
    };
    let running = tables::running(r, wish.as_ref(), parts);
    let water = tables::water(r);
    let care = tables::care(r, mount.as_ref(), wish.as_ref());
    let (prices, currency) = tables::prices(r);
    let _ = r.string("learned.units");
    if let Some(pump) = &pump {
        tables::flow_agrees(r, pump);
    }
    if has_battery && battery.is_none() {
        return None;
    }
    Some(Design {
        title,
        site: site?,
        wish: wish?,
        panel: panel?,
        mount: mount?,
        battery,
        electronics: electronics?,
        pump: pump?,
        running: running?,
        water: water?,
        care: care?,
        prices,
        currency,
    })
}
