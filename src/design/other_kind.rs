//! Files of the program that are no designs, though they look alike.

use crate::source::Problem;
use toml::de::DeTable;

/// What a TOML file is, if it is clearly not a design.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum OtherKind {
    /// Monthly means of a place, for `invent`.
    Climate,
    /// Parts to choose from, for `choose`.
    Shelf,
}

impl OtherKind {
    /// Of a file's tables and keys.
    pub(super) fn of(root: &DeTable<'_>) -> Option<OtherKind> {
        let has = |key: &str| root.contains_key(key);
        if ["site", "panel", "pump"].into_iter().any(has) {
            None
        } else if has("place") && has("months") {
            Some(OtherKind::Climate)
        } else {
            has("shelf").then_some(OtherKind::Shelf)
        }
    }

    /// Of a file's text; none if that cannot be read.
    pub(crate) fn of_text(text: &str) -> Option<OtherKind> {
        OtherKind::of(DeTable::parse(text).ok()?.get_ref())
    }

    /// What it is.
    pub(crate) fn words(self) -> &'static str {
        match self {
            OtherKind::Climate => "a climate, not a design",
            OtherKind::Shelf => "a shelf, not a design",
        }
    }

    /// Said to who gives the file of this name as a design.
    pub(super) fn refused(self, name: &str) -> Problem {
        let cure = match self {
            OtherKind::Climate => {
                format!("stilldays invent {name} makes weather of it, which a design can name")
            }
            OtherKind::Shelf => {
                format!("stilldays choose DESIGN --shelf {name} chooses from it for a design")
            }
        };
        Problem::error(format!("this is {}", self.words())).in_file(name).help(cure)
    }
}

#[cfg(test)]
mod tests {
    use crate::design::parse;

    #[test]
    fn a_shelf_or_climate_in_place_of_a_design_is_told_once_and_with_its_command() {
        for (text, what, command) in [
            (
                "title = \"Parts\"\n[[shelf.panel]]\nname = \"5 W\"\n",
                "this is a shelf",
                "stilldays choose DESIGN --shelf my.toml",
            ),
            (
                "[place]\nname = \"Fen\"\n[months]\nair_c = [1]\n",
                "this is a climate",
                "stilldays invent my.toml",
            ),
        ] {
            let problems = parse("my.toml".as_ref(), text.to_owned()).unwrap_err();
            let said = problems.to_string();
            assert!(problems.list.len() == 1 && said.contains(what) && said.contains(command), "{said}");
        }
        let design =
            parse("my.toml".as_ref(), "shelf = 1\n[site]\nweather = \"a.csv\"\n".to_owned()).unwrap_err();
        assert!(design.to_string().contains("unknown key `shelf` at the top of a design"), "{design}");
    }
}
