//! How a reader wants it: width, colour, characters, units.

/// How text for a terminal is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Columns, at least 48 are used.
    pub width: usize,
    /// Whether escape sequences may be written (`NO_COLOR`, `TERM=dumb`, pipes: no).
    pub colour: bool,
    /// Whether characters beyond ASCII may be written. Only those of code page 437 are used, which
    /// every Windows console font has.
    pub unicode: bool,
    /// Units of what is shown.
    pub units: Units,
}

impl Style {
    /// Plain text of 80 columns in SI units, safe anywhere.
    pub const PLAIN: Style = Style { width: 80, colour: false, unicode: false, units: Units::Si };

    /// `±` or its ASCII stand-in.
    pub fn pm(&self) -> &'static str {
        if self.unicode { "±" } else { "+/-" }
    }

    pub(super) fn columns(&self) -> usize {
        self.width.clamp(48, 200)
    }

    pub(super) fn paint(&self, style: anstyle::Style, text: &str) -> String {
        if self.colour && !text.is_empty() {
            format!("{}{text}{}", style.render(), style.render_reset())
        } else {
            text.to_owned()
        }
    }
}

/// Units of what is shown to people. Files for machines are always SI.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// mm, L, °C.
    #[default]
    Si,
    /// in, gal (US), °F.
    Us,
}

impl Units {
    /// A volume given in L, with its unit.
    pub fn volume(self, litres: f64) -> (f64, &'static str) {
        match self {
            Units::Si => (litres, "L"),
            // 231 cubic inches of exactly 25.4 mm.
            Units::Us => (litres / 3.785_411_784, "gal"),
        }
    }

    /// A small height given in m, with its unit.
    pub fn height(self, metres: f64) -> (f64, &'static str) {
        match self {
            Units::Si => (metres * 1000.0, "mm"),
            Units::Us => (metres / 0.0254, "in"),
        }
    }
}
