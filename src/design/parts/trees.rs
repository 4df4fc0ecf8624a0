//! `[site]`: trees of the skyline, and what passes through them.

/// What stands in the skyline as trees.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trees {
    /// Whether each corner of the skyline is the edge of trees; as many as corners, or none. What stands between two such corners is trees.
    pub corners: Vec<bool>,
    /// Share of light that passes through them in leaf, 0..=1.
    pub in_leaf: f64,
    /// Share that passes through bare branches.
    pub bare: f64,
    /// Days of the year (0..365) on which leaves come and on which they colour; `None`: what is usual at the place.
    pub leafing: Option<u16>,
    /// See `leafing`.
    pub colouring: Option<u16>,
}

/// Kinds of trees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TreeKind {
    /// Any that shed their leaves.
    Mixed,
    /// Lime, maple, chestnut.
    Dense,
    /// Ash, locust, birch.
    Light,
    /// Conifers, the same all year.
    Conifer,
}

impl TreeKind {
    /// Share of light that passes in leaf and bare: middles of 0.05 to 0.25, 0.03 to 0.15, 0.2 to 0.4, 0.05 to 0.15 in leaf and
    /// 0.45 to 0.70 bare (common practice, no source; within what Heisler 1986, Urban Ecology 9:337, and Gardner & Sydnor, J. Amer. Soc.
    /// Hort. Sci., measured for light in all, and Konarska et al. 2014, Theor. Appl. Climatol. 117:363, for the beam).
    pub(in crate::design) const fn usual(self) -> (f64, f64) {
        match self {
            TreeKind::Mixed => (0.15, 0.58),
            TreeKind::Dense => (0.09, 0.55),
            TreeKind::Light => (0.30, 0.65),
            TreeKind::Conifer => (0.10, 0.10),
        }
    }
}
