//! `[panel]`: what covers cells of its string.

/// Cells that are covered for good, and what the string does about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover<N> {
    /// Cells that are covered, rounded to whole ones; 0 none.
    pub cells: N,
    /// Share of their light that they lose, 0..=1.
    pub share: N,
    /// Current of a dark cell at -10 V over the short-circuit current, share.
    pub leak: N,
    /// Bypass diodes, each over an equal part of the string; 0 none.
    pub bypass_diodes: u32,
}

impl<N> Cover<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Cover<M> {
        Cover {
            cells: f("panel.covered_cells", &self.cells),
            share: f("panel.covered_share", &self.share),
            leak: f("panel.cell_leak", &self.leak),
            bypass_diodes: self.bypass_diodes,
        }
    }
}

impl Default for Cover<crate::units::Uncertain> {
    /// Nothing is covered.
    fn default() -> Self {
        let x = crate::units::Uncertain::exact;
        Cover { cells: x(0.0), share: x(0.8), leak: x(0.1), bypass_diodes: 0 }
    }
}
