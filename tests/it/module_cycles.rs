//! Inside a folder data flows one way, too: no file or folder uses another that uses it, directly or through others.
//!
//! `layers.rs` holds the order of the rooms. Here every path in `src` is followed to the module that it leads to, through
//! re-exports, and each folder is drawn as a graph of its files and folders. A `mod.rs` is one of them: code in it that uses a child
//! may not be used by that child.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use syn::visit::{self, Visit};

/// The path of a module from the root of the crate: `["plant", "bus"]`; the root is empty.
type ModulePath = Vec<String>;

/// What the finder knows of one file.
#[derive(Default)]
struct Module {
    /// Names that it passes on to others, and where they lead.
    imports: BTreeMap<String, Vec<String>>,
    /// Modules of which it passes on everything.
    globs: Vec<Vec<String>>,
    /// Names that it defines.
    items: BTreeSet<String>,
    /// Every path it uses in its own code, first segment as written.
    paths: Vec<Vec<String>>,
    /// Paths of `pub use`: a use only if they lead out of the module, for a folder may pass on what it holds.
    passed_on: Vec<Vec<String>>,
}

/// All modules of the crate, by path.
struct Crate(BTreeMap<ModulePath, Module>);

impl Crate {
    /// Reads a folder of sources. Unit tests may look anywhere and are left out.
    fn read(root: &Path) -> Crate {
        let mut modules = BTreeMap::new();
        fn walk(dir: &Path, at: &[String], modules: &mut BTreeMap<ModulePath, Module>) {
            for entry in fs::read_dir(dir).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
                if name == "tests" || name.ends_with("_tests") || name == "testing" {
                    continue;
                }
                let below: ModulePath = at.iter().cloned().chain([name.clone()]).collect();
                if path.is_dir() {
                    walk(&path, &below, modules);
                } else if path.extension().is_some_and(|e| e == "rs") && name != "main" {
                    let place = if name == "mod" || name == "lib" { at.to_vec() } else { below };
                    modules.insert(place, Module::parse(&fs::read_to_string(&path).unwrap()));
                }
            }
        }
        walk(root, &[], &mut modules);
        Crate(modules)
    }

    /// The module in which a path ends that stands in the code of `at`: none if it leads out of the crate or to an
    /// import of `at` itself.
    fn leads_to(&self, at: &[String], path: &[String]) -> Option<ModulePath> {
        let (mut here, rest) = match path[0].as_str() {
            "crate" => (vec![], &path[1..]),
            "self" => (at.to_vec(), &path[1..]),
            "super" => {
                let ups = path.iter().take_while(|s| *s == "super").count();
                (at[..at.len().checked_sub(ups)?].to_vec(), &path[ups..])
            }
            // A child; anything else is another crate or a name imported here, whose import counts.
            child => {
                let below: ModulePath = at.iter().cloned().chain([child.to_owned()]).collect();
                self.0.contains_key(&below).then_some(())?;
                (at.to_vec(), path)
            }
        };
        let mut rest: Vec<String> = rest.to_vec();
        for _ in 0..20 {
            let Some(next) = rest.first().cloned() else { return Some(here) };
            let below: ModulePath = here.iter().cloned().chain([next.clone()]).collect();
            if self.0.contains_key(&below) {
                (here, rest) = (below, rest.split_off(1));
                continue;
            }
            let module = self.0.get(&here)?;
            if module.items.contains(&next) {
                return Some(here);
            }
            let onward = match module.imports.get(&next) {
                Some(target) => self.absolute(&here, target),
                None => module.globs.iter().find_map(|glob| {
                    let target = self.leads_to(&here, glob)?;
                    self.0[&target].items.contains(&next).then_some(Some(target))
                })?,
            };
            // Another crate's name passed on.
            let onward = onward?;
            let rest_of_path = rest.split_off(1);
            // The target's module by its longest prefix that is one; what is left is looked up there.
            let depth = (0..=onward.len()).rev().find(|&d| self.0.contains_key(&onward[..d]))?;
            here = onward[..depth].to_vec();
            rest = onward[depth..].iter().cloned().chain(rest_of_path).collect();
        }
        None
    }

    /// A path as written in `here`, from the root of the crate; none if it begins with another crate.
    fn absolute(&self, here: &[String], path: &[String]) -> Option<Vec<String>> {
        let ups = path.iter().take_while(|s| *s == "super").count();
        Some(match path[0].as_str() {
            "crate" => path[1..].to_vec(),
            "self" => [here, &path[1..]].concat(),
            "super" => [&here[..here.len().checked_sub(ups)?], &path[ups..]].concat(),
            first => {
                let below: ModulePath = here.iter().cloned().chain([first.to_owned()]).collect();
                self.0.contains_key(&below).then(|| [here, path].concat())?
            }
        })
    }

    /// For each folder, which of its files and folders uses which, with one example each.
    fn uses(&self) -> BTreeMap<ModulePath, BTreeMap<(String, String), String>> {
        let mut folders: BTreeMap<ModulePath, BTreeMap<(String, String), String>> = BTreeMap::new();
        for (at, module) in &self.0 {
            let paths =
                module.paths.iter().map(|p| (p, true)).chain(module.passed_on.iter().map(|p| (p, false)));
            for (path, used) in paths {
                let Some(to) = self.leads_to(at, path) else { continue };
                if !used && to.starts_with(at) {
                    continue;
                }
                let common = at.iter().zip(&to).take_while(|(a, b)| a == b).count();
                if common == 0 {
                    continue; // the rooms: layers.rs
                }
                let node = |m: &ModulePath| m.get(common).cloned().unwrap_or_else(|| "mod".to_owned());
                let (from, to_node) = (node(at), node(&to));
                if from != to_node {
                    let example = format!("{} says {}", at.join("/"), path.join("::"));
                    folders
                        .entry(at[..common].to_vec())
                        .or_default()
                        .entry((from, to_node))
                        .or_insert(example);
                }
            }
        }
        folders
    }

    /// Groups of files of a folder that use one another in a circle: `plant: bus, battery`, with examples.
    fn circles(&self) -> Vec<(String, String)> {
        let mut found = Vec::new();
        for (folder, edges) in self.uses() {
            let nodes: BTreeSet<&String> = edges.keys().flat_map(|(a, b)| [a, b]).collect();
            let reached = |from: &String| -> BTreeSet<String> {
                let mut seen = BTreeSet::new();
                let mut open = vec![from.clone()];
                while let Some(node) = open.pop() {
                    for (_, to) in edges.keys().filter(|(a, _)| *a == node) {
                        if seen.insert(to.clone()) {
                            open.push(to.clone());
                        }
                    }
                }
                seen
            };
            let all: BTreeMap<&String, BTreeSet<String>> = nodes.iter().map(|n| (*n, reached(n))).collect();
            let mut told = BTreeSet::new();
            for node in nodes.iter().filter(|n| all[**n].contains(**n)) {
                let group: Vec<String> =
                    all[*node].iter().filter(|o| all[*o].contains(*node)).cloned().collect();
                if told.insert(group.clone()) {
                    let inside = edges.iter().filter(|((a, b), _)| group.contains(a) && group.contains(b));
                    let examples: Vec<String> =
                        inside.map(|((a, b), example)| format!("    {a} -> {b}: {example}")).collect();
                    found.push((format!("{}: {}", folder.join("/"), group.join(", ")), examples.join("\n")));
                }
            }
        }
        found
    }
}

impl Module {
    fn parse(text: &str) -> Module {
        let file = syn::parse_file(text).expect("a file that compiles");
        let mut module = Module::default();
        module.visit_file(&file);
        module
    }

    /// Takes in a tree of `use`.
    fn take(&mut self, tree: &syn::UseTree, before: &[String], passed_on: bool) {
        let with = |name: &syn::Ident| before.iter().cloned().chain([name.to_string()]).collect::<Vec<_>>();
        let mut leaf = |name: String, path: Vec<String>| {
            if passed_on { &mut self.passed_on } else { &mut self.paths }.push(path.clone());
            self.imports.insert(name, path);
        };
        match tree {
            syn::UseTree::Path(path) => self.take(&path.tree, &with(&path.ident), passed_on),
            syn::UseTree::Group(group) => group.items.iter().for_each(|t| self.take(t, before, passed_on)),
            syn::UseTree::Name(name) if name.ident == "self" => {
                leaf(before.last().expect("something before").clone(), before.to_vec());
            }
            syn::UseTree::Name(name) => leaf(name.ident.to_string(), with(&name.ident)),
            syn::UseTree::Rename(rename) => leaf(rename.rename.to_string(), with(&rename.ident)),
            syn::UseTree::Glob(_) => {
                if passed_on { &mut self.passed_on } else { &mut self.paths }.push(before.to_vec());
                self.globs.push(before.to_vec());
            }
        }
    }
}

/// Whether an item exists for tests only.
fn for_tests(attributes: &[syn::Attribute]) -> bool {
    let test = |a: &syn::Attribute| a.parse_args::<syn::Path>().is_ok_and(|p| p.is_ident("test"));
    attributes.iter().any(|a| a.path().is_ident("cfg") && test(a))
}

impl<'ast> Visit<'ast> for Module {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        use syn::Item;
        let (attributes, name) = match item {
            Item::Fn(i) => (&i.attrs, Some(&i.sig.ident)),
            Item::Struct(i) => (&i.attrs, Some(&i.ident)),
            Item::Enum(i) => (&i.attrs, Some(&i.ident)),
            Item::Trait(i) => (&i.attrs, Some(&i.ident)),
            Item::Const(i) => (&i.attrs, Some(&i.ident)),
            Item::Static(i) => (&i.attrs, Some(&i.ident)),
            Item::Type(i) => (&i.attrs, Some(&i.ident)),
            Item::Macro(i) => (&i.attrs, i.ident.as_ref()),
            Item::Impl(i) => (&i.attrs, None),
            Item::Mod(i) => (&i.attrs, None),
            Item::Use(i) => (&i.attrs, None),
            _ => return visit::visit_item(self, item),
        };
        if for_tests(attributes) {
            return;
        }
        self.items.extend(name.map(ToString::to_string));
        visit::visit_item(self, item);
    }

    /// A visibility names a module but does not use it.
    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {}

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.take(&item.tree, &[], !matches!(item.vis, syn::Visibility::Inherited));
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        if path.leading_colon.is_none() && path.segments.len() > 1 {
            self.paths.push(path.segments.iter().map(|s| s.ident.to_string()).collect());
        }
        visit::visit_path(self, path);
    }

    /// Arguments of macros are tokens, not a syntax tree: paths in them are found in their text.
    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let text = call.tokens.to_string().replace(" :: ", "::");
        for word in text.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')) {
            let segments: Vec<String> = word.split("::").map(str::to_owned).collect();
            if segments.len() > 1 && segments.iter().all(|s| !s.is_empty()) {
                self.paths.push(segments);
            }
        }
    }
}

/// A crate made of texts, by module path.
fn made_of(files: &[(&str, &str)]) -> Crate {
    let path = |name: &str| name.split('/').filter(|s| !s.is_empty()).map(str::to_owned).collect();
    Crate(files.iter().map(|(name, text)| (path(name), Module::parse(text))).collect())
}

#[test]
fn the_finder_finds_circles() {
    let circles = |files: &[(&str, &str)]| -> Vec<String> {
        made_of(files).circles().into_iter().map(|(circle, _)| circle).collect()
    };
    // One way, also through a re-export and over a level.
    assert!(
        circles(&[
            ("", "pub mod a;"),
            ("a", "mod b; mod c; pub use b::B; pub use c::run;"),
            ("a/b", "pub struct B;"),
            ("a/c", "use super::B; pub fn run(_: B) {}"),
        ])
        .is_empty()
    );
    // Two files, one of them by the re-export of the folder, the other from within a macro.
    let two = circles(&[
        ("", "pub mod a;"),
        ("a", "mod b; mod c; pub use b::B; pub use c::run;"),
        ("a/b", "pub struct B; fn f() { println!(\"{}\", crate::a::c::run()) }"),
        ("a/c", "use super::B; pub fn run() -> B { B }"),
    ]);
    assert_eq!(two, ["a: b, c"]);
    // Three in a ring, one of them a folder that is entered at two places.
    let ring = circles(&[
        ("", "pub mod a;"),
        ("a", "mod b; mod c; mod d;"),
        ("a/b", "use super::c::deep::X;"),
        ("a/c", "pub mod deep; pub mod other;"),
        ("a/c/deep", "pub struct X;"),
        ("a/c/other", "use super::super::d::Y;"),
        ("a/d", "use crate::a::{b as other_name}; pub struct Y;"),
    ]);
    assert_eq!(ring, ["a: b, c, d"]);
    // The folder's own code and a child.
    let own = circles(&[
        ("", "pub mod a;"),
        ("a", "mod b; pub const SIZE: usize = 3; pub fn all() { b::one() }"),
        ("a/b", "use super::SIZE; pub fn one() -> usize { SIZE }"),
    ]);
    assert_eq!(own, ["a: b, mod"]);
    // Tests may look anywhere.
    let tests = circles(&[
        ("", "pub mod a;"),
        ("a", "mod b; mod c;"),
        ("a/b", "pub struct B; #[cfg(test)] mod tests { use super::super::c::C; }"),
        ("a/c", "use super::b::B; pub struct C(B);"),
    ]);
    assert!(tests.is_empty(), "{tests:?}");
}

#[test]
fn no_file_uses_one_that_uses_it() {
    let found = Crate::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    let seen: usize = found.uses().values().map(BTreeMap::len).sum();
    assert!(seen > 200, "only {seen} uses seen: is the finder broken?");
    let wrong: Vec<String> =
        found.circles().into_iter().map(|(circle, examples)| format!("{circle}\n{examples}")).collect();
    assert!(wrong.is_empty(), "{} circles:\n{}", wrong.len(), wrong.join("\n"));
}
