//! Designs whose parts are drawn from learned units.

use super::file::DesignFile;
use super::learned::LearnedUnits;
use crate::source::Problems;
use crate::units::Uncertain;
use sha2::{Digest, Sha256};
use std::path::Path;
use std::sync::Arc;

/// The key of a design that names a file.
const UNITS_KEY: &str = "learned.units";

impl DesignFile {
    /// The same design with its parts drawn from learned units.
    #[must_use]
    pub fn with_units(self, units: LearnedUnits) -> DesignFile {
        // Other units, other results: the fingerprint must tell.
        let mut joint = Sha256::new();
        joint.update(self.text.as_bytes());
        joint.update(units.sha256.as_bytes());
        if units.sha256.is_empty() {
            // Not in a file yet.
            units.units.iter().flatten().for_each(|x| joint.update(x.to_le_bytes()));
        }
        let sha256 = joint.finalize().iter().map(|b| format!("{b:02x}")).collect();
        DesignFile { learned: Some(Arc::new(units)), sha256, ..self }
    }

    /// The units that its key `learned.units` names are read, if it has one.
    ///
    /// # Errors
    /// Those of reading them.
    pub(super) fn with_its_units(self) -> Result<DesignFile, Problems> {
        let named = self.inputs.iter().find(|i| i.key == UNITS_KEY).map(|i| i.value.clone());
        let Some(named) = named else { return Ok(self) };
        let folder = self.path.parent().unwrap_or(Path::new(""));
        let units = LearnedUnits::read(&folder.join(named))?;
        Ok(self.with_units(units))
    }

    /// The learned units of the design that this one was changed from, unless the change took them out.
    #[must_use]
    pub(super) fn with_units_of(self, from: &DesignFile) -> DesignFile {
        let named =
            |file: &DesignFile| file.inputs.iter().find(|i| i.key == UNITS_KEY).map(|i| i.value.clone());
        match &from.learned {
            Some(units) if named(&self) == named(from) => self.with_units(LearnedUnits::clone(units)),
            _ => self,
        }
    }

    /// Uncertain keys, and what the design believes of each.
    pub(crate) fn beliefs(&self) -> Vec<(String, Uncertain)> {
        let mut beliefs = Vec::new();
        let _ = self.design.map(&mut |key, q| {
            if !q.is_exact() {
                beliefs.push((key.to_owned(), *q));
            }
        });
        beliefs
    }

    /// What to say about the learned units of the design: how many keys come from them, and which do not.
    pub(crate) fn learned_note(&self) -> Option<String> {
        let units = self.learned.as_ref()?;
        let beliefs = self.beliefs();
        let columns = units.columns(&beliefs);
        let own: Vec<&str> =
            beliefs.iter().zip(&columns).filter(|(_, c)| c.is_none()).map(|((k, _), _)| k.as_str()).collect();
        let known = columns.len() - own.len();
        let rest = match own.len() {
            _ if known == 0 => "; every quantity is as the design says".to_owned(),
            0 => String::new(),
            1..=8 => format!("; as the design says: {}", own.join(", ")),
            n => format!("; {n} as the design says"),
        };
        let what = if known == 1 { "1 quantity is".to_owned() } else { format!("{known} quantities are") };
        Some(format!("{what} drawn from learned units ({}){rest}", units.path.display()))
    }
}
