//! A design ready to be simulated at its place.

use super::site::{SiteModel, Sites};
use crate::design::DesignFile;
use crate::plant::Scene;
use crate::source::Problems;
use crate::tally::SeasonLayout;
use crate::weather::HALF_WINDOW_DAYS;
use std::sync::Arc;

/// Days simulated before the season begins, so that the battery's charge at its start is the
/// weather's doing, not ours (model: discard 10 to 30 days).
pub const RUN_IN_DAYS: usize = 20;

/// Day of the year (0-based) at which every chain of donor days starts, whatever the season:
/// [`RUN_IN_DAYS`] before 1 January. A calendar date thus meets the same weather in all designs.
pub const CHAIN_START: u16 = 365 - RUN_IN_DAYS as u16;

/// A design ready to be simulated at its place.
pub struct Plan {
    /// The design as read.
    pub file: DesignFile,
    /// Its place.
    pub site: Arc<SiteModel>,
    /// Its season, minute windows and skyline; shared by builds with one wish at one place.
    pub scene: Arc<Scene>,
    /// What its tallies hold.
    pub layout: SeasonLayout,
}

impl Plan {
    /// Brings design and place together.
    ///
    /// # Errors
    /// The problems of the design's weather files.
    pub fn new(file: DesignFile, sites: &Sites) -> Result<Plan, Problems> {
        let site = sites.of(&file)?;
        Ok(Plan::at(file, site))
    }

    /// The same at a place already read.
    pub fn at(file: DesignFile, site: Arc<SiteModel>) -> Plan {
        let scene = Arc::new(Scene::new(&file.design, &site.calendar, RUN_IN_DAYS));
        Plan::in_scene(file, site, scene)
    }

    /// Another build with this one's place and wish, whose scene it shares.
    pub fn beside(&self, file: DesignFile) -> Plan {
        let same = file.design.wish == self.file.design.wish && file.design.site == self.file.design.site;
        match same {
            true => Plan::in_scene(file, Arc::clone(&self.site), Arc::clone(&self.scene)),
            false => Plan::at(file, Arc::clone(&self.site)),
        }
    }

    fn in_scene(file: DesignFile, site: Arc<SiteModel>, scene: Arc<Scene>) -> Plan {
        let layout = SeasonLayout::new(&file.design, &scene.days, &site.calendar);
        Plan { file, site, scene, layout }
    }

    /// What the place wants the user to know, and whether its files have days of the season at all.
    pub fn warnings(&self) -> Vec<String> {
        let mut all = self.site.warnings();
        let bare = self.site.sampler.pool().bare_dates();
        let season: Vec<_> = self.scene.days.iter().filter(|d| d.season_day >= 0).collect();
        let n = season.iter().filter(|d| bare[usize::from(d.day_of_year)]).count();
        if n > 0 {
            all.push(format!(
                "for {n} of the {} days of the season the weather files have no whole day within {HALF_WINDOW_DAYS} days of the date: days of another season stand in",
                season.len()
            ));
        }
        all
    }

    /// Place in the chain of donor days of the first scene day.
    pub fn chain_offset(&self) -> usize {
        let first = self.scene.days.first().map_or(CHAIN_START, |d| d.day_of_year);
        usize::from((365 + first - CHAIN_START) % 365)
    }

    /// Days of the chain that the season needs.
    pub fn chain_days(&self) -> usize {
        self.chain_offset() + self.scene.days.len()
    }
}
