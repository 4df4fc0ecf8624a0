//! Lives in parts: each machine simulates every n-th block, and the parts together give the results of one.

use super::lives::{self, Span};
use super::plans;
use crate::disk::read;
use crate::study::batch::Share;
use crate::study::engine::Engine;
use crate::study::journal::Journal;
use crate::study::plan::Plan;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Name of the file that says what a part is.
pub const FILE: &str = "years-part.json";
/// Name of the file with its lives.
pub const LIVES: &str = "lives";
/// Schema name.
pub const SCHEMA: &str = "stilldays.years-part/1";
/// Maximum size, bytes.
const LARGEST_BYTES: u64 = 1 << 20;
/// Most lives.
const MOST_LIVES: u64 = 10_000_000;

/// What all parts have in common, and which one this is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartOfLives {
    schema: String,
    /// Version of the program.
    version: String,
    /// Which part, from 1.
    pub part: u64,
    /// Of how many.
    pub of: u64,
    /// Seed.
    pub seed: u64,
    /// Lives of all parts.
    pub lives: u64,
    /// Years of each life.
    pub years: u16,
    /// Whether plans of care are weighed.
    pub weigh_care: bool,
    /// The design, as the part was given it.
    pub design: PathBuf,
    /// The units it draws from, if they were asked for.
    pub units_from: Option<PathBuf>,
    /// The command that makes all in one.
    pub command: String,
    /// Whether a sheet for the client is written, too.
    pub for_client: bool,
}

impl PartOfLives {
    /// A part; the rest says what all have in common.
    pub fn new(
        share: Share,
        seed: u64,
        (lives, years, weigh_care): (u64, u16, bool),
        command: String,
    ) -> PartOfLives {
        PartOfLives {
            schema: SCHEMA.to_owned(),
            version: crate::VERSION.to_owned(),
            part: share.part,
            of: share.of,
            seed,
            lives,
            years,
            weigh_care,
            design: PathBuf::new(),
            units_from: None,
            command,
            for_client: false,
        }
    }

    /// The same of a design, as text, so that any path can be written.
    #[must_use]
    pub fn of_design(self, design: &Path, units_from: Option<&Path>) -> PartOfLives {
        let text = |path: &Path| PathBuf::from(path.to_string_lossy().into_owned());
        PartOfLives { design: text(design), units_from: units_from.map(text), ..self }
    }

    /// The same with a sheet for the client, or without.
    #[must_use]
    pub fn for_client(self, for_client: bool) -> PartOfLives {
        PartOfLives { for_client, ..self }
    }

    /// The bytes of its file.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = serde_json::to_vec_pretty(self).expect("text and numbers become JSON");
        out.push(b'\n');
        out
    }

    /// Whether the part in a folder is this one, and is finished.
    pub fn is_finished_in(&self, folder: &Path) -> bool {
        PartOfLives::read(folder).is_ok_and(|there| there == *self) && folder.join(LIVES).is_file()
    }

    fn read(folder: &Path) -> Result<PartOfLives, String> {
        let path = folder.join(FILE);
        let fail = |why: String| format!("{}: {why}", path.display());
        let bytes = read::at_most(&path, LARGEST_BYTES).map_err(|e| fail(format!("cannot be read: {e}")))?;
        let part: PartOfLives = serde_json::from_slice(&bytes)
            .map_err(|e| fail(format!("damaged, or not written by years --part: {e}")))?;
        if part.schema != SCHEMA {
            return Err(fail(format!("{} is not {SCHEMA}", part.schema)));
        }
        if part.version != crate::VERSION {
            let [theirs, ours] = [&part.version, crate::VERSION];
            return Err(fail(format!(
                "made by version {theirs}, this is {ours}: gather with that version, or make the parts again"
            )));
        }
        // The same bounds as on the command line.
        part.share().to_string().parse::<Share>().map_err(fail)?;
        if !(1..=MOST_LIVES).contains(&part.lives) || !(1..=super::MOST_YEARS).contains(&part.years) {
            return Err(fail(format!("{} lives of {} years are not possible", part.lives, part.years)));
        }
        Ok(part)
    }

    /// Which part it is.
    pub fn share(&self) -> Share {
        Share { part: self.part, of: self.of }
    }

    /// The blocks that are its own.
    fn blocks(&self, span: Span) -> Vec<u64> {
        let blocks = span.blocks();
        (self.part - 1..blocks).step_by(self.of as usize).collect()
    }

    /// How many lives it simulates of each plan of care.
    pub fn own_lives(&self, plan: &Plan) -> u64 {
        let span = Span::new(plan, self.lives, self.years);
        self.blocks(span).into_iter().map(|block| span.of(block)).sum()
    }

    /// Simulates its lives into the journal of the engine; none if it was stopped before all were done.
    pub fn live(&self, engine: &Engine<'_>, plan: &Plan) -> Option<()> {
        for plan in plans::to_live(plan, self.weigh_care) {
            let span = Span::new(&plan, self.lives, self.years);
            lives::live_blocks(engine, &plan, span, &self.blocks(span))?;
        }
        Some(())
    }

    /// Blocks of these lives that the journal lacks, of all parts or of one.
    fn lacks(&self, journal: &Journal, plan: &Plan) -> bool {
        plans::to_live(plan, self.weigh_care).iter().any(|plan| {
            let span = Span::new(plan, self.lives, self.years);
            self.blocks(span).into_iter().any(|block| !span.is_known(journal, block))
        })
    }
}

/// The parts of some lives, each once.
#[derive(Debug)]
pub struct PartsOfLives {
    parts: Vec<(PathBuf, PartOfLives)>,
}

impl PartsOfLives {
    /// Finds parts in folders; each may be the folder of a part, or hold such folders up to two levels down. Nothing if there are none.
    ///
    /// # Errors
    /// Every reason why those that there are do not make up the whole.
    pub fn find(folders: &[PathBuf]) -> Result<Option<PartsOfLives>, Vec<String>> {
        let found: Vec<PathBuf> = folders.iter().flat_map(|folder| holding(folder, 2)).collect();
        let (mut trouble, mut parts) = (Vec::new(), BTreeMap::new());
        for folder in found {
            match PartOfLives::read(&folder) {
                Err(why) => trouble.push(why),
                Ok(part) => {
                    if let Some((twin, _)) = parts.insert(part.part, (folder.clone(), part)) {
                        trouble.push(format!(
                            "{} and {} are the same part; give only one of them, and parts of one design at a time",
                            Path::display(&twin),
                            folder.display()
                        ));
                    }
                }
            }
        }
        let Some((first_folder, first)) = parts.values().next().cloned() else {
            return if trouble.is_empty() { Ok(None) } else { Err(trouble) };
        };
        for (folder, part) in parts.values() {
            let alike = PartOfLives { part: first.part, ..part.clone() };
            if alike != first {
                trouble.push(format!(
                    "{} is a part of `{}`, but {} of `{}`",
                    folder.display(),
                    part.command,
                    first_folder.display(),
                    first.command
                ));
            }
        }
        let missing: Vec<String> =
            (1..=first.of).filter(|k| !parts.contains_key(k)).map(|k| format!("{k}/{}", first.of)).collect();
        if !missing.is_empty() {
            trouble.push(format!(
                "missing: part {}; make them with: {} --part {}",
                missing.join(", "),
                first.command,
                missing[0]
            ));
        }
        let parts = parts.into_values().collect();
        if trouble.is_empty() { Ok(Some(PartsOfLives { parts })) } else { Err(trouble) }
    }

    /// What all have in common.
    pub fn first(&self) -> &PartOfLives {
        // `find` never gives an empty set.
        &self.parts.first().expect("at least one part").1
    }

    /// A journal that knows all their lives.
    ///
    /// # Errors
    /// A part cannot be read, or is not of this design.
    pub fn journal(&self, plan: &Plan) -> Result<Journal, Vec<String>> {
        let paths: Vec<PathBuf> = self.parts.iter().map(|(folder, _)| folder.join(LIVES)).collect();
        let journal = Journal::of_finished(&paths, self.first().seed)
            .map_err(|(path, e)| vec![format!("{}: cannot be read: {e}", path.display())])?;
        let lacking: Vec<String> = self
            .parts
            .iter()
            .filter(|(_, part)| part.lacks(&journal, plan))
            .map(|(folder, part)| {
                format!(
                    "part {} ({}) lacks lives: it is damaged or not finished, or the design or its weather have changed since; run it again",
                    part.share(),
                    folder.display()
                )
            })
            .collect();
        if lacking.is_empty() { Ok(journal) } else { Err(lacking) }
    }
}

/// Folders that hold a part: this one or, down to so many levels, those in it; sorted.
fn holding(folder: &Path, levels: usize) -> Vec<PathBuf> {
    if folder.join(FILE).is_file() {
        return vec![folder.to_owned()];
    }
    if levels == 0 {
        return Vec::new();
    }
    let mut inside: Vec<PathBuf> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    inside.retain(|path| path.is_dir() && !path.is_symlink());
    inside.sort();
    inside.iter().flat_map(|path| holding(path, levels - 1)).collect()
}
