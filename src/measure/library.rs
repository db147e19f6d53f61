//! Profiles of components: those that are compiled in, and a person's own.

use std::sync::Arc;

use toml::de::DeValue;

use super::families::{FAMILIES, Family, family_named};
use super::fault::{Fault, Faults, What};
use super::hint::did_you_mean;
use super::param::Param;
use super::read::{Reader, Slot, no_files, parse};
use super::source::{Place, Source};
use super::values::{Data, Origin, Value, Values};

/// How names of shipped texts end.
pub(crate) const COMPILED_IN: &str = " (compiled in)";

/// Longest name of a profile or part, in characters.
pub const MAX_NAME: usize = 40;

/// All known profiles, by family and name.
#[derive(Clone, Debug)]
pub struct Library {
    /// As [`FAMILIES`], each sorted by name.
    profiles: Vec<Vec<Values>>,
    /// Texts of a person's own, in the order in which they were added.
    own: Vec<(&'static str, Arc<Source>)>,
}

impl Library {
    /// The profiles that are compiled in.
    ///
    /// # Panics
    /// If a shipped profile is faulty, which the tests rule out.
    pub fn shipped() -> Self {
        let mut library = Self { profiles: vec![Vec::new(); FAMILIES.len()], own: Vec::new() };
        for family in FAMILIES {
            let name = format!("profiles/{}.toml{COMPILED_IN}", family.name);
            let source = Source::new(name, family.shipped).expect("shipped profiles are UTF-8");
            if let Err(faults) = library.add(family, &source) {
                panic!("a shipped profile is faulty: {faults}");
            }
        }
        library
    }

    /// Adds the profiles of one text of a family. A name that is known already
    /// is overridden field by field; `like = "name"` in a new profile starts
    /// from one that is known before it.
    ///
    /// # Errors
    /// All that is wrong; the library is then as it was.
    pub fn add(&mut self, family: &'static Family, source: &Arc<Source>) -> Result<(), Faults> {
        let mut faults = Faults::default();
        let mut next = self.clone();
        let document = parse(source, &mut faults);
        let mut tables: Vec<_> = document.get_ref().iter().collect();
        tables.sort_by_key(|(key, _)| key.span().start);
        for (key, value) in tables {
            let name: &str = key.get_ref();
            let path = format!("{}.{name}", family.name);
            let mut reader =
                Reader { source, library: self, faults: &mut faults, files: &no_files };
            let place = reader.place(value);
            if let Some(reason) = bad_name(name) {
                let what = What::BadName { name: name.to_owned(), reason: reason.into() };
                faults.push(Fault::new(what, path).at(Place::new(source, key.span())));
                continue;
            }
            let DeValue::Table(table) = value.get_ref() else {
                let what = What::WrongType {
                    written: place.written().to_owned(),
                    found: "no table",
                    expected: "a table of fields".into(),
                };
                let hint = format!("start each profile with its name: [{name}]");
                faults.push(Fault::new(what, path).at(place).hint(hint));
                continue;
            };
            let mut slots = reader.slots(table, place, family.rows, &path, &["like"]);
            let mut base = next.profile(family.name, name);
            if let Some(like) = table.get("like") {
                let known = like.get_ref().as_str().unwrap_or_default();
                base = next.profile(family.name, known);
                if base.is_none() {
                    let what = What::UnknownName {
                        of: format!("profile of {}", family.name),
                        name: reader.place(like).written().to_owned(),
                    };
                    let mut fault = Fault::new(what, format!("{path}.like"))
                        .at(reader.place(like))
                        .hint("`like` names a shipped profile, or one further up in this file");
                    fault.hints.extend(did_you_mean(known, next.names(family.name)));
                    reader.faults.push(fault);
                    continue;
                }
            }
            let base = base.iter().flat_map(|b| &b.values).zip(family.rows);
            for (slot, (value, row)) in slots.slots.iter_mut().zip(base) {
                if matches!(slot, Slot::Empty) {
                    *slot = Slot::Good(kept(row, value, source));
                }
            }
            let Some(mut values) = reader.complete(slots, Some(name.to_owned())) else { continue };
            if !reader.check_together(family.name, &values) {
                continue;
            }
            for value in &mut values.values {
                if let Origin::Written(place) = &value.origin {
                    value.origin = Origin::Profile(name.to_owned(), place.clone());
                }
            }
            next.put(family, values);
        }
        if !source.name().ends_with(COMPILED_IN) {
            next.own.push((family.name, source.clone()));
        }
        faults.or_value(Some(())).map(|()| *self = next)
    }

    /// Texts of a person's own that were added, each after the name of its
    /// family, in that order.
    pub fn own(&self) -> &[(&'static str, Arc<Source>)] {
        &self.own
    }

    fn put(&mut self, family: &Family, values: Values) {
        let index = FAMILIES.iter().position(|f| f.name == family.name);
        let all = &mut self.profiles[index.expect("the family is in the table")];
        match all.binary_search_by(|known| known.profile.cmp(&values.profile)) {
            Ok(at) => all[at] = values,
            Err(at) => all.insert(at, values),
        }
    }

    /// The profiles of a family, by name.
    ///
    /// # Panics
    /// If there is no such family.
    pub fn profiles(&self, family: &str) -> &[Values] {
        family_named(family);
        let index = FAMILIES.iter().position(|f| f.name == family);
        &self.profiles[index.expect("the family is in the table")]
    }

    /// The names of a family's profiles, sorted.
    pub fn names(&self, family: &str) -> impl Iterator<Item = &str> {
        self.profiles(family).iter().filter_map(Values::profile)
    }

    /// One profile, complete with defaults.
    pub fn profile(&self, family: &str, name: &str) -> Option<&Values> {
        self.profiles(family).iter().find(|values| values.profile() == Some(name))
    }
}

/// A base profile's value in a profile of `source`. The text that says where
/// values are from must not vouch for those of another file.
fn kept(row: &Param, value: &Value, source: &Arc<Source>) -> Value {
    let mut value = value.clone();
    if let (Data::Text(text), Origin::Profile(_, place)) = (&mut value.data, &value.origin)
        && row.key == "source"
        && place.source().name() != source.name()
    {
        *text = format!("own values of {}; the rest: {text}", source.name());
    }
    value
}

/// Why a name cannot be used; none if it can.
pub fn bad_name(name: &str) -> Option<&'static str> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "-_.".contains(c);
    if name.is_empty() {
        Some("is empty")
    } else if name.chars().count() > MAX_NAME {
        Some("is longer than 40 characters")
    } else if !name.chars().all(plain) || name.starts_with('.') {
        Some("has other characters than a-z, 0-9, -, _ and . inside")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::param::{Kind, check_rows};
    use super::super::values::Origin;
    use super::*;

    fn family() -> &'static Family {
        family_named("cells")
    }

    fn own(text: &str) -> Result<Library, String> {
        let mut library = Library::shipped();
        let source = Source::new("mine/cells.toml", text).expect("UTF-8");
        library.add(family(), &source).map_err(|f| f.to_string()).map(|()| library)
    }

    #[test]
    fn tables_of_families_keep_the_rules() {
        for family in FAMILIES {
            check_rows(family.rows).unwrap_or_else(|e| panic!("{}: {e}", family.name));
            let scalar = |kind| {
                !matches!(kind, Kind::Table { .. } | Kind::List { .. } | Kind::Component { .. })
            };
            assert!(family.rows.iter().all(|row| scalar(row.kind)), "{}", family.name);
        }
    }

    #[test]
    fn every_shipped_profile_is_complete_and_names_its_source() {
        let library = Library::shipped();
        for family in FAMILIES {
            assert!(library.names(family.name).count() >= 2, "{}", family.name);
            for profile in library.profiles(family.name) {
                let name = profile.profile().expect("a profile has a name");
                let source = profile.maybe_text("source").unwrap_or_default();
                assert!(source.len() > 10, "{}.{name} has no source", family.name);
                for row in family.rows {
                    let known = !matches!(profile.origin(row.key), Origin::Written(_));
                    assert!(known, "{name}.{} is still marked as written", row.key);
                }
            }
        }
    }

    #[test]
    fn a_profile_of_ones_own_overrides_field_by_field() {
        let library = own("[18650]\ndiameter_max = 18.7\n").expect("good");
        let cell = library.profile("cells", "18650").expect("known");
        assert_eq!(cell.number("diameter_max"), 18.7);
        assert_eq!(cell.number("length_max"), 65.5);
        assert!(cell.text("source").starts_with("own values of mine/cells.toml; the rest: "));
        let Origin::Profile(_, place) = cell.origin("diameter_max") else { panic!("no profile") };
        assert_eq!(format!("{place:?}"), "mine/cells.toml:2:16");
    }

    #[test]
    fn a_profile_may_be_like_another() {
        let library = own("[rod-cell]\nlike = \"18650\"\nlength_max = 66.1\n").expect("good");
        let cell = library.profile("cells", "rod-cell").expect("known");
        assert_eq!((cell.number("length_max"), cell.number("length_min")), (66.1, 64.5));
    }

    #[test]
    fn faults_of_ones_own_profiles_leave_the_library_as_it_was() {
        let text = "[18650]\ndiameter_max = 1.87\n[new]\nlike = \"1865\"\n[Bad]\n";
        let faults = own(text).expect_err("faulty");
        let wanted = "cells.18650.diameter_max: 1.87 mm is outside the allowed 6 to 40 mm\n\
                      cells.new.like: unknown profile of cells \"1865\"\n\
                      cells.Bad: name Bad has other characters than a-z, 0-9, -, _ and . inside";
        assert_eq!(faults, wanted);
        let faults = own("[18650]\ndiameter_min = 19\n").expect_err("conflict");
        let wanted = "cells.18650.diameter_min: diameter_min = 19 is more than diameter_max = 18.5";
        assert_eq!(faults, wanted);
    }
}
