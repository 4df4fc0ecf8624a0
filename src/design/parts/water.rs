//! `[water]`: the basin, what leaves it and who fills it.

/// The basin, what leaves it and who fills it.
#[derive(Clone, Debug, PartialEq)]
pub struct Water<N> {
    /// Open surface, m².
    pub area_m2: N,
    /// Water above the low-water mark when full, L.
    pub usable_l: N,
    /// From the jet to the rim, m: drops that drift farther are lost.
    pub rim_m: N,
    /// Wind at the basin over the weather file's wind at 10 m: low down and behind walls there is less.
    pub wind_share: N,
    /// Standard deviation of the wind at the jet over its mean of an hour, share (turbulence intensity).
    pub wind_turbulence: N,
    /// Median diameter of the drops by volume, mm.
    pub drop_mm: N,
    /// Evaporation of a small basin in the open relative to Penman's open water (edge effect).
    pub evaporation_factor: N,
    /// Extra evaporation while the jet runs, share.
    pub spray_evaporation: N,
    /// How it is filled up.
    pub top_up: TopUp,
    /// Wind speed at which the pump is stopped, m/s, if it is.
    pub wind_cut_off_m_s: Option<f64>,
    /// What decides when the water freezes; `None`: it never does.
    pub ice: Option<Ice<N>>,
    /// First and last day on which the pump is taken in, 0-based days of a 365-day year, if it is: nothing is wanted then.
    pub taken_in: Option<(u16, u16)>,
}

/// What decides when a basin's water freezes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ice<N> {
    /// Mean depth of the water, m.
    pub depth_m: N,
    /// Depth of the pump's intake below the surface, m.
    pub intake_m: N,
    /// Heat between the water and the ground, W/m² of surface for each kelvin.
    pub ground_w_m2_k: N,
}

/// How a basin is filled up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TopUp {
    /// Always full: a float valve or a spring.
    Always,
    /// By hand, every so many days.
    Every(u16),
    /// By rain alone (weather files without rain: never).
    Rain,
}

impl<N> Water<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Water<M> {
        Water {
            area_m2: f("water.area", &self.area_m2),
            usable_l: f("water.usable", &self.usable_l),
            rim_m: f("water.rim", &self.rim_m),
            wind_share: f("water.wind_share", &self.wind_share),
            wind_turbulence: f("water.wind_turbulence", &self.wind_turbulence),
            drop_mm: f("water.drop", &self.drop_mm),
            evaporation_factor: f("water.evaporation_factor", &self.evaporation_factor),
            spray_evaporation: f("water.spray_evaporation", &self.spray_evaporation),
            top_up: self.top_up,
            wind_cut_off_m_s: self.wind_cut_off_m_s,
            ice: self.ice.as_ref().map(|ice| Ice {
                depth_m: f("water.depth", &ice.depth_m),
                intake_m: f("water.intake", &ice.intake_m),
                ground_w_m2_k: f("water.ground", &ice.ground_w_m2_k),
            }),
            taken_in: self.taken_in,
        }
    }

    /// Whether the pump is taken in on a day of the year, 0..365.
    pub(crate) fn is_taken_in(&self, day_of_year: u16) -> bool {
        self.taken_in
            .is_some_and(|(first, last)| (365 + day_of_year - first) % 365 <= (365 + last - first) % 365)
    }
}
