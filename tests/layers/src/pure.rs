//! What is to be free of I/O, clocks and threads is: time, randomness, bytes and answers
//! come in as arguments there.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use syn::visit::{self, Visit};

/// Source that must not reach for some of the standard library's modules.
pub struct Pure {
    /// A file or folder, from the checkout.
    pub at: &'static str,
    /// Modules of `std` that may not be named in it, tests apart.
    pub not: &'static [&'static str],
}

const ALL: &[&str] = &[
    "env",
    "fs",
    "net",
    "process",
    "thread",
    "time::Instant",
    "time::SystemTime",
];

/// What must be pure.
pub const PURE: &[Pure] = &[
    Pure {
        at: "core/measuring/src",
        not: ALL,
    },
    Pure {
        at: "core/chip/src",
        not: ALL,
    },
    Pure {
        at: "core/plain/src",
        not: ALL,
    },
    Pure {
        at: "core/sync/src",
        not: ALL,
    },
    Pure {
        at: "core/journal/src/record",
        not: ALL,
    },
    // The session opens its journal in a folder, and does no other I/O.
    Pure {
        at: "core/session/src",
        not: &[
            "env",
            "net",
            "process",
            "thread",
            "time::Instant",
            "time::SystemTime",
        ],
    },
];

/// What is wrong below `root`: file and what it reaches for.
pub fn faults(root: &Path, pure: &Pure) -> io::Result<Vec<String>> {
    let mut faults = Vec::new();
    let mut parsed = Vec::new();
    for file in sources(&root.join(pure.at))? {
        let text = fs::read_to_string(&file)?;
        match syn::parse_file(&text) {
            Ok(tree) => parsed.push((file, tree)),
            Err(e) => faults.push(format!("{} cannot be read as Rust: {e}", file.display())),
        }
    }
    let tests: Vec<PathBuf> = parsed
        .iter()
        .flat_map(|(file, tree)| test_files(file, tree))
        .collect();
    for (file, tree) in &parsed {
        if tests
            .iter()
            .any(|t| file.starts_with(t) || *file == t.with_extension("rs"))
        {
            continue;
        }
        let shown = file.strip_prefix(root).unwrap_or(file).display();
        faults.extend(
            reaches(tree, pure.not)
                .iter()
                .map(|what| format!("{shown} reaches for {what}")),
        );
    }
    Ok(faults)
}

/// The modules of a file that are for tests alone and lie in files of their own, without
/// their ending: `src/a/tests` for `src/a/tests.rs` or what is in the folder of that name.
fn test_files(file: &Path, tree: &syn::File) -> Vec<PathBuf> {
    let stem = file.file_stem().unwrap_or_default();
    let folder = if ["lib", "main", "mod"].iter().any(|s| stem == *s) {
        file.with_file_name("")
    } else {
        file.with_extension("")
    };
    tree.items
        .iter()
        .filter_map(|item| match item {
            syn::Item::Mod(m) if m.content.is_none() && only_for_tests(&m.attrs) => {
                Some(folder.join(m.ident.to_string()))
            }
            _ => None,
        })
        .collect()
}

/// Every Rust file below `at`. None is an error: the check would then check nothing.
fn sources(at: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut todo = vec![at.to_owned()];
    while let Some(dir) = todo.pop() {
        for entry in fs::read_dir(&dir)? {
            let path = entry?.path();
            if path.is_dir() {
                todo.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                found.push(path);
            }
        }
    }
    if found.is_empty() {
        return Err(io::Error::other(format!("{} holds no Rust", at.display())));
    }
    found.sort();
    Ok(found)
}

/// The paths in the source that lie in one of `std`'s modules `not`, tests apart.
fn reaches(file: &syn::File, not: &[&str]) -> Vec<String> {
    let mut walk = Walk::default();
    walk.visit_file(file);
    let within = |path: &str, module: &str| {
        let rest = path
            .strip_prefix("std::")
            .and_then(|p| p.strip_prefix(module));
        rest.is_some_and(|r| r.is_empty() || r.starts_with("::"))
    };
    // `use std::time;` is fine by itself but lets `time::Instant` follow: it counts too.
    let opens = |path: &str, module: &str| {
        module
            .split_once("::")
            .is_some_and(|(outer, _)| path == format!("std::{outer}::*"))
            || module.split_once("::").is_some_and(|(_, inner)| {
                walk.imported.iter().any(|i| i == "std::time")
                    && path.starts_with(&format!("time::{inner}"))
            })
    };
    walk.paths
        .iter()
        .filter(|path| {
            not.iter()
                .any(|module| within(path, module) || opens(path, module))
        })
        .cloned()
        .collect()
}

#[derive(Default)]
struct Walk {
    paths: Vec<String>,
    imported: Vec<String>,
}

impl Walk {
    fn flatten(&mut self, before: &str, tree: &syn::UseTree) {
        let join = |name: &str| {
            if before.is_empty() {
                name.to_owned()
            } else {
                format!("{before}::{name}")
            }
        };
        match tree {
            syn::UseTree::Path(path) => self.flatten(&join(&path.ident.to_string()), &path.tree),
            syn::UseTree::Name(name) if name.ident == "self" => self.import(before.to_owned()),
            syn::UseTree::Name(name) => self.import(join(&name.ident.to_string())),
            syn::UseTree::Rename(rename) => self.import(join(&rename.ident.to_string())),
            syn::UseTree::Glob(_) => self.import(join("*")),
            syn::UseTree::Group(group) => group.items.iter().for_each(|t| self.flatten(before, t)),
        }
    }

    fn import(&mut self, path: String) {
        self.imported.push(path.clone());
        self.paths.push(path);
    }
}

fn only_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("test")
            || a.path().is_ident("cfg") && a.parse_args::<syn::Ident>().is_ok_and(|i| i == "test")
    })
}

impl<'ast> Visit<'ast> for Walk {
    fn visit_item_mod(&mut self, module: &'ast syn::ItemMod) {
        if !only_for_tests(&module.attrs) {
            visit::visit_item_mod(self, module);
        }
    }

    fn visit_item_fn(&mut self, function: &'ast syn::ItemFn) {
        if !only_for_tests(&function.attrs) {
            visit::visit_item_fn(self, function);
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        if !only_for_tests(&item.attrs) {
            self.flatten("", &item.tree);
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        self.paths.push(names.join("::"));
        visit::visit_path(self, path);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_to_reach_the_clock_or_a_file_is_found() {
        for text in [
            "use std::time::SystemTime;",
            "use std::{fmt, time::{Duration, Instant}};",
            "use std::time::*;",
            "use std::time; fn f() { let _ = time::Instant::now(); }",
            "fn f() { let _ = std::time::SystemTime::now(); }",
            "use std::fs;",
            "use std::fs::File as F;",
            "use std::{fs as files};",
            "fn f() -> std::net::TcpStream { todo() }",
            "mod inner { fn f() { std::thread::sleep(d); } }",
        ] {
            let found = reaches(&syn::parse_file(text).expect("Rust"), ALL);
            assert!(!found.is_empty(), "{text}");
        }
    }

    #[test]
    fn durations_tests_and_likely_names_are_not_taken_for_it() {
        for text in [
            "use std::time::Duration;",
            "use std::fmt; use std::collections::BTreeMap;",
            "#[cfg(test)] mod tests { use std::fs; fn f() { std::thread::sleep(d); } }",
            "#[test] fn f() { std::fs::read(p); }",
            "use crate::time::Instant; use crate::fs; fn f() { fs::read(); }",
            "/// std::fs\nfn f() { let _ = \"std::net\"; }",
        ] {
            assert_eq!(
                reaches(&syn::parse_file(text).expect("Rust"), ALL),
                [] as [String; 0],
                "{text}"
            );
        }
    }

    #[test]
    fn a_file_is_a_tests_only_if_its_module_says_so() {
        let tree = syn::parse_file("#[cfg(test)] mod schema; mod cli; #[cfg(test)] mod own {}")
            .expect("Rust");
        let at = |file: &str| test_files(Path::new(file), &tree);
        assert_eq!(at("src/lib.rs"), [PathBuf::from("src/schema")]);
        assert_eq!(at("src/pack/mod.rs"), [PathBuf::from("src/pack/schema")]);
        assert_eq!(at("src/pack.rs"), [PathBuf::from("src/pack/schema")]);
    }

    #[test]
    fn a_folder_without_rust_is_an_error() {
        assert!(
            faults(
                Path::new(env!("CARGO_MANIFEST_DIR")),
                &Pure {
                    at: "none",
                    not: ALL
                }
            )
            .is_err()
        );
    }
}
