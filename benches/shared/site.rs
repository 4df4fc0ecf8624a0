//! A place for the benches: a typical year of the tests, its calendar and sampler.

use std::path::Path;
use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::lanes::BLOCK;
use stilldays::sky::Calendar;
use stilldays::weather::{self, SampledDay, Sampler, TypicalYear};

pub struct Site {
    pub year: TypicalYear,
    pub calendar: Arc<Calendar>,
    pub sampler: Sampler,
}

impl Site {
    pub fn load() -> Site {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/chicago-il.epw.gz");
        let year = weather::load(&path).expect("a file of the tests");
        let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
        let sampler = Sampler::new(std::slice::from_ref(&year), Arc::clone(&calendar), YearSpread::ByClimate);
        Site { year, calendar, sampler }
    }

    /// Donor days of a year, trial by trial of the first block.
    pub fn chains(&self) -> [Vec<SampledDay>; BLOCK] {
        std::array::from_fn(|trial| self.sampler.chain(1, trial as u64, 0, 365))
    }
}

/// Donors of a day of the year in each chain.
pub fn donors(chains: &[Vec<SampledDay>; BLOCK], day: usize) -> [SampledDay; BLOCK] {
    std::array::from_fn(|lane| chains[lane][day])
}
