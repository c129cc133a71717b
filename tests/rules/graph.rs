//! Which file of `src` uses which, and where each type is declared, read by a parser of Rust and not by searching text.
//!
//! A file uses another where it names something in it: in a `use`, in a path, or in the arguments of a macro. A name that a
//! file passes on (`pub use child::Thing`) leads to where it stands, so that neither the sign at a door nor `mod child;` is a
//! use. Code for tests alone is left out. Methods are not seen: whoever calls one names its type somewhere.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use syn::visit::{self, Visit};

/// A module's path from the crate's root: `["pack", "load"]`.
pub type Module = Vec<String>;

/// What one file holds and names.
#[derive(Default)]
pub struct Sheet {
    /// Types, traits and aliases declared here.
    pub types: BTreeSet<String>,
    /// Names passed on, each with the path behind it.
    passed: BTreeMap<String, Vec<String>>,
    /// Every path named, as written.
    named: BTreeSet<Vec<String>>,
    /// Modules for tests alone, declared here.
    tests: BTreeSet<String>,
}

/// The files of the crate.
pub struct House(BTreeMap<Module, Sheet>);

/// The module in a file of `src`; the crate's root for `lib.rs`.
pub fn module(path: &Path) -> Module {
    let mut module: Module =
        path.with_extension("").iter().map(|part| part.to_str().unwrap_or_default().to_owned()).collect();
    if module == ["lib"] {
        module.clear();
    }
    module
}

impl House {
    /// Reads files: each with its path below `src`.
    pub fn read<'t>(files: impl IntoIterator<Item = (&'t Path, &'t str)>) -> Self {
        let mut sheets: BTreeMap<Module, Sheet> = BTreeMap::new();
        for (path, text) in files {
            let file = syn::parse_file(text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            let mut sheet = Sheet::default();
            sheet.visit_file(&file);
            sheets.insert(module(path), sheet);
        }
        let tests: Vec<Module> = sheets
            .iter()
            .flat_map(|(module, sheet)| {
                sheet.tests.iter().map(|name| [module.as_slice(), std::slice::from_ref(name)].concat())
            })
            .collect();
        sheets.retain(|module, _| !tests.iter().any(|test| module.starts_with(test)));
        Self(sheets)
    }

    /// Every type name with the files that declare it.
    pub fn owners(&self) -> BTreeMap<&str, Vec<String>> {
        let mut owners: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for (module, sheet) in &self.0 {
            for name in &sheet.types {
                owners.entry(name).or_default().push(module.join("/"));
            }
        }
        owners
    }

    /// The files that each file uses.
    pub fn uses(&self) -> BTreeMap<String, BTreeSet<String>> {
        let of = |(module, sheet): (&Module, &Sheet)| {
            let used = sheet.named.iter().filter_map(|path| self.resolve(module, path, 0));
            (module.join("/"), used.filter(|used| used != module).map(|used| used.join("/")).collect())
        };
        self.0.iter().map(of).collect()
    }

    /// The file in which a path named in `from` ends.
    fn resolve(&self, from: &Module, path: &[String], depth: usize) -> Option<Module> {
        assert!(depth < 20, "{} leads round in a circle", path.join("::"));
        let mut at = from.clone();
        let mut rest = path;
        match path.first()?.as_str() {
            "crate" => at.clear(),
            "self" | "super" => {}
            // A child of this file; anything else without a sign is a name of its own or of another crate.
            child if self.0.contains_key(&[from.as_slice(), &[child.to_owned()]].concat()) => {}
            _ => return None,
        }
        while let Some(word) = rest.first() {
            match word.as_str() {
                "crate" | "self" => {}
                "super" => drop(at.pop()),
                _ => break,
            }
            rest = rest.get(1..)?;
        }
        while let Some(name) = rest.first() {
            at.push(name.clone());
            if !self.0.contains_key(&at) {
                at.pop();
                if let Some(behind) = self.0.get(&at).and_then(|sheet| sheet.passed.get(name)) {
                    return self.resolve(&at, behind, depth + 1);
                }
                break;
            }
            rest = rest.get(1..)?;
        }
        // A module that is only passed through, as in `use crate::pack::load`, is named by its last file.
        Some(at).filter(|at| !at.is_empty())
    }
}

/// Groups of files of which each can be reached from each other.
pub fn circles(uses: &BTreeMap<String, BTreeSet<String>>) -> Vec<BTreeSet<String>> {
    let reached = |from: &String| {
        let (mut open, mut seen) = (vec![from], BTreeSet::new());
        while let Some(next) = open.pop() {
            open.extend(uses.get(next).into_iter().flatten().filter(|used| seen.insert((*used).clone())));
        }
        seen
    };
    let reached: BTreeMap<_, _> = uses.keys().map(|file| (file, reached(file))).collect();
    let mutual = |file: &String| -> BTreeSet<String> {
        let back = |other: &&String| reached.get(other).is_some_and(|seen| seen.contains(file));
        reached.get(file).into_iter().flatten().filter(back).cloned().collect()
    };
    let mut found: Vec<_> = uses.keys().map(mutual).filter(|circle| circle.len() > 1).collect();
    found.sort();
    found.dedup();
    found
}

fn for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| match &attribute.meta {
        syn::Meta::List(list) if list.path.is_ident("cfg") => {
            let condition = list.tokens.to_string();
            condition == "test" || condition.starts_with("all (test")
        }
        _ => false,
    })
}

fn attributes(item: &syn::Item) -> &[syn::Attribute] {
    match item {
        syn::Item::Const(item) => &item.attrs,
        syn::Item::Enum(item) => &item.attrs,
        syn::Item::Fn(item) => &item.attrs,
        syn::Item::Impl(item) => &item.attrs,
        syn::Item::Mod(item) => &item.attrs,
        syn::Item::Static(item) => &item.attrs,
        syn::Item::Struct(item) => &item.attrs,
        syn::Item::Trait(item) => &item.attrs,
        syn::Item::Type(item) => &item.attrs,
        syn::Item::Use(item) => &item.attrs,
        _ => &[],
    }
}

/// The paths of a `use`, each with the name that it has here.
fn leaves(tree: &syn::UseTree, before: &[String], found: &mut Vec<(String, Vec<String>)>) {
    let with = |ident: &syn::Ident| [before, &[ident.to_string()]].concat();
    match tree {
        syn::UseTree::Path(path) => leaves(&path.tree, &with(&path.ident), found),
        // `use a::{self}` names `a`.
        syn::UseTree::Name(name) if name.ident == "self" && !before.is_empty() => {
            found.push((before.last().cloned().unwrap_or_default(), before.to_vec()));
        }
        syn::UseTree::Name(name) => found.push((name.ident.to_string(), with(&name.ident))),
        syn::UseTree::Rename(rename) => found.push((rename.rename.to_string(), with(&rename.ident))),
        syn::UseTree::Glob(_) => found.push(("*".to_owned(), before.to_vec())),
        syn::UseTree::Group(group) => group.items.iter().for_each(|tree| leaves(tree, before, found)),
    }
}

impl<'ast> Visit<'ast> for Sheet {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        if for_tests(attributes(item)) {
            if let syn::Item::Mod(module) = item {
                self.tests.insert(module.ident.to_string());
            }
            return;
        }
        let name = match item {
            syn::Item::Struct(item) => Some(&item.ident),
            syn::Item::Enum(item) => Some(&item.ident),
            syn::Item::Trait(item) => Some(&item.ident),
            syn::Item::Type(item) => Some(&item.ident),
            _ => None,
        };
        self.types.extend(name.map(ToString::to_string));
        visit::visit_item(self, item);
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let mut found = Vec::new();
        leaves(&item.tree, &[], &mut found);
        if matches!(item.vis, syn::Visibility::Inherited) {
            self.named.extend(found.into_iter().map(|(_, path)| path));
        } else {
            self.passed.extend(found);
        }
    }

    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {
        // `pub(super)` says who may look, and uses nobody.
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.named.insert(path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, called: &'ast syn::Macro) {
        // What a macro makes of its words is its own affair; words joined by `::` are paths.
        let words = called.tokens.to_string().replace(" :: ", "::");
        let path = |c: char| !c.is_alphanumeric() && c != '_' && c != ':';
        let paths = words.split(path).filter(|word| word.contains("::"));
        self.named.extend(paths.map(|path| path.split("::").map(str::to_owned).collect()));
        visit::visit_macro(self, called);
    }
}
