//! `batch` and `gather`, end to end: small designs, few trials, and everything that can go wrong.
//!
//! The designs are invented. The tests check that the bytes are the same however the work was divided.

mod damage;
mod faults;
mod interrupted;
mod parts;
mod whole;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder with designs and room for results.
pub struct Yard {
    dir: tempfile::TempDir,
}

impl Yard {
    /// An empty folder `designs`.
    pub fn new() -> Yard {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(dir.path().join("designs")).unwrap();
        Yard { dir }
    }

    /// Three designs, two of one name, at one place.
    pub fn of_three() -> Yard {
        let yard = Yard::new();
        yard.design("trough.toml", "1 Ah");
        yard.design("lower/trough.toml", "2 Ah ± 10 %");
        yard.design("lower/basin.toml", "0.5 Ah");
        yard
    }

    /// A design with a battery of this capacity and a season of three days in November, with still days and some jet after
    /// sunset.
    pub fn design(&self, name: &str, capacity: &str) -> PathBuf {
        let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather/fenholm.csv.gz");
        let text = format!(
            "title = \"{capacity} of charge\"\n[site]\nweather = {:?}\n\
             [wish]\nseason = \"11-10 to 11-12\"\nhours = \"10:00 to sunset + 1 h\"\njet = \"20 cm\"\n\
             [panel]\nrated_power = \"3 W ± 10 %\"\nopen_circuit_voltage = \"10.8 V\"\n\
             [battery]\nchemistry = \"lithium iron phosphate\"\nvoltage = \"6.4 V\"\ncapacity = \"{capacity}\"\n\
             [pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n",
            weather.display().to_string()
        );
        self.file(name, &text)
    }

    /// A file below `designs`.
    pub fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.path("designs").join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
        path
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Runs `stilldays` with these arguments in the folder.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_stilldays"));
        command.args(args).current_dir(self.dir.path()).env("NO_COLOR", "1");
        command
    }

    /// Runs it to its end.
    pub fn run(&self, args: &[&str]) -> Said {
        Said::of(self.command(args).output().unwrap())
    }

    /// Runs a batch that must finish, and returns its results.
    pub fn undisturbed(&self, trials: &str) -> Tree {
        self.undisturbed_by(&["--trials", trials])
    }

    /// The same with flags that say how many trials.
    pub fn undisturbed_by(&self, effort: &[&str]) -> Tree {
        let args = [&["batch", "designs", "--out", "undisturbed", "--quiet"], effort].concat();
        let said = self.run(&args);
        assert_eq!(said.code, Some(0), "{said:?}");
        self.tree("undisturbed")
    }

    /// All files below a folder except the lock, by relative path.
    pub fn tree(&self, name: &str) -> Tree {
        let root = self.path(name);
        let mut files = BTreeMap::new();
        let mut open = vec![root.clone()];
        while let Some(folder) = open.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let below = path.strip_prefix(&root).unwrap().to_owned();
                if path.is_dir() {
                    open.push(path);
                } else if below != Path::new(".lock") {
                    files.insert(below, std::fs::read(&path).unwrap());
                }
            }
        }
        Tree(files)
    }
}

/// Output and exit status of a command.
#[derive(Debug)]
pub struct Said {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Said {
    pub fn of(output: Output) -> Said {
        Said {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// Files by relative path.
#[derive(PartialEq)]
pub struct Tree(pub BTreeMap<PathBuf, Vec<u8>>);

impl Tree {
    /// Asserts that two trees are the same files with the same bytes, and not empty.
    pub fn assert_same(&self, other: &Tree, what: &str) {
        let names = |t: &Tree| t.0.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(self), names(other), "{what}");
        assert!(self.0.len() > 3, "{what}: {:?}", names(self));
        for (name, bytes) in &self.0 {
            assert!(bytes == &other.0[name], "{what}: {} differs", name.display());
        }
    }
}
