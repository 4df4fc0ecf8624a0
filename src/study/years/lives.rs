//! Simulates lives, block by block: sixteen units at a time, year after year. Blocks run in parallel and are gathered in their
//! order, so the result does not depend on the threads. A block that the journal knows is taken from it.

use super::block::Block;
use super::winter::Between;
use super::year::Year;
use crate::lanes::BLOCK;
use crate::study::engine::Engine;
use crate::study::journal::{self, Journal};
use crate::study::plan::Plan;
use crate::tally::Tally;
use rayon::prelude::*;
use sha2::{Digest, Sha256};

/// All lives.
pub(super) struct Lived {
    /// By life, then by year.
    pub lives: Vec<Vec<Year>>,
    /// The first years, as a run would tally them.
    pub first: Tally,
    pub years: u16,
}

/// How many lives of how many years, and what they are known by in a journal.
#[derive(Clone, Copy)]
pub(super) struct Span {
    pub lives: u64,
    pub years: u16,
    name: [u8; 32],
}

impl Span {
    pub(super) fn new(plan: &Plan, lives: u64, years: u16) -> Span {
        // The plan of care is no part of a design's fingerprint where it was changed here.
        let what = format!("years {years} {:?}", plan.file.design.care);
        let name = Sha256::new().chain_update(journal::name(plan)).chain_update(what).finalize().into();
        Span { lives, years, name }
    }

    /// Lives of a block.
    pub(super) fn of(self, block: u64) -> u64 {
        (self.lives - block * BLOCK as u64).min(BLOCK as u64)
    }

    /// How many blocks there are.
    pub(super) fn blocks(self) -> u64 {
        self.lives.div_ceil(BLOCK as u64)
    }

    /// Whether the journal knows a block.
    pub(super) fn is_known(self, journal: &Journal, block: u64) -> bool {
        journal.knows(self.name, block, self.of(block))
    }
}

/// Simulates so many lives of so many years; `None` if it was stopped before all were done.
pub(super) fn live(engine: &Engine<'_>, plan: &Plan, lives: u64, years: u16) -> Option<Lived> {
    let span = Span::new(plan, lives, years);
    let blocks: Vec<u64> = (0..span.blocks()).collect();
    let mut lived = Lived { lives: Vec::new(), first: Tally::new(&plan.layout), years };
    for (first, lives) in live_blocks(engine, plan, span, &blocks)? {
        lived.lives.extend(lives);
        lived.first.merge(&first).unwrap_or_else(|_| unreachable!("tallies of one plan have one shape"));
    }
    Some(lived)
}

/// First years and lives of a block.
type LivesOfBlock = (Tally, Vec<Vec<Year>>);

/// Simulates these blocks; `None` if it was stopped before all were done.
pub(super) fn live_blocks(
    engine: &Engine<'_>,
    plan: &Plan,
    span: Span,
    blocks: &[u64],
) -> Option<Vec<LivesOfBlock>> {
    let between = Between::new(plan);
    let one = |&block: &u64| {
        let lives = span.of(block);
        let days = between.days_of_year() * lives;
        if let Some(known) = engine.journal.and_then(|j| j.kept(span.name, block, lives)) {
            let years = u64::from(span.years);
            (engine.progress)(crate::study::Progress { trials: years * lives, days: years * days });
            return Some(known);
        }
        let mut first = Tally::new(&plan.layout);
        let mut walk = Block::new(engine, plan, &between, (block * BLOCK as u64, lives as usize));
        let mut all = vec![Vec::with_capacity(span.years.into()); lives as usize];
        for year in 0..span.years {
            if engine.stopped() {
                return None;
            }
            let of_lives = walk.year(year, &mut first);
            all.iter_mut().zip(of_lives).for_each(|(life, year)| life.push(year));
            (engine.progress)(crate::study::Progress { trials: lives, days });
        }
        if let Some(journal) = engine.journal {
            journal.keep((span.name, block, lives), &first, &all);
        }
        Some((first, all))
    };
    engine.pool.install(|| blocks.par_iter().map(one).collect::<Vec<_>>()).into_iter().collect()
}
