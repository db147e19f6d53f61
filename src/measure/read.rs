//! Reads a TOML table against rows of [`Param`]: what comes out is complete
//! and in range, or there are faults that say where it is not.

use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::families::family_named;
use super::fault::{Fault, Faults, What};
use super::file::GivenFile;
use super::hint::{did_you_mean, length_in_text, nearest};
use super::library::Library;
use super::param::{Default, Kind, Param, Unit};
use super::shown::number;
use super::source::{Place, Source};
use super::values::{Data, Origin, Value, Values, join};

/// What a new job file has in place of a value that a person must measure.
pub const PLACEHOLDER: &str = "?";

/// Parses a whole text, collecting what is not TOML.
pub(crate) fn parse<'a>(source: &'a Arc<Source>, faults: &mut Faults) -> Spanned<DeTable<'a>> {
    let (table, errors) = DeTable::parse_recoverable(source.text());
    for error in errors {
        let end = source.text().len();
        let place = Place::new(source, error.span().unwrap_or(end..end));
        let mut fault = Fault::new(What::Syntax { reason: error.message().into() }, "").at(place);
        let start = error.span().map_or(end, |span| span.start);
        if let Some(hint) = slip(source.text(), start) {
            fault = fault.hint(hint);
        } else if error.message().starts_with("duplicate key") {
            fault = fault.hint(
                "a key may be given once in a table: keep the one that is right; several parts, \
                 plungers or stations start each with their name in [[two brackets]]",
            );
        }
        faults.push(fault);
    }
    table
}

/// Longest line, in bytes, that is taken for a person's own with a slip in it.
const LONGEST_SLIP: usize = 200;

/// What a person probably meant by a line that is no TOML: the common slips.
fn slip(text: &str, at: usize) -> Option<String> {
    let at = at.min(text.len());
    let start = text.get(..at)?.rfind('\n').map_or(0, |i| i + 1);
    let line = text.get(start..)?.lines().next()?.trim();
    if line.len() > LONGEST_SLIP || line.contains(char::is_control) {
        return None;
    }
    if line.contains(['\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}']) {
        return Some("use straight quotes: \"".to_owned());
    }
    let (key, value) = line.split_once('=')?;
    let (key, value) = (key.trim(), value.split('#').next()?.trim());
    let numeric = |word: &str| !word.is_empty() && word.parse::<f64>().is_ok();
    if value.is_empty() {
        return Some(format!("write what {key} is behind the ="));
    }
    if value.matches('"').count() % 2 == 1 {
        return Some(format!("a quote is missing in the text of {key}"));
    }
    if let Some(list) = value.strip_prefix('[') {
        let list = list.trim_end_matches(']');
        let words: Vec<&str> = list.split([',', ' ']).filter(|w| !w.is_empty()).collect();
        if words.len() > 1 && words.iter().all(|w| numeric(w)) && !value.ends_with(']') {
            return Some(format!("close the list: {key} = [{}]", words.join(", ")));
        }
        let right = list.split(',').all(|w| numeric(w.trim()));
        if words.len() > 1 && !right && words.iter().all(|w| numeric(w)) {
            return Some(format!("put commas between: {key} = [{}]", words.join(", ")));
        }
        return None;
    }
    if let Some((whole, part)) = value.split_once(',')
        && numeric(whole)
        && numeric(part.trim())
    {
        return Some(format!("write {whole}.{} with a point", part.trim()));
    }
    let number = value.trim_end_matches(|c: char| c.is_alphabetic() || c == '"' || c == ' ');
    if numeric(number) && number.len() < value.len() {
        return Some(format!("write {number}, without the unit: lengths are in millimetres"));
    }
    let word = |c: char| c.is_alphanumeric() || " -_.'".contains(c);
    let plain = value.starts_with(|c: char| c.is_alphabetic()) && value.chars().all(word);
    plain.then(|| format!("put the text in quotes: {key} = \"{value}\""))
}

/// The header of the table below `path` that has a key called `name`, if one of
/// `rows` is such a table: `[part.cavity]`.
fn header_of(rows: &[Param], name: &str, path: &str) -> Option<String> {
    let has = |rows: &[Param]| rows.iter().any(|row| row.key == name);
    let mut plain = String::new();
    let mut inside = false;
    for c in path.chars() {
        inside = (inside || c == '[') && c != ']';
        if !inside && c != ']' {
            plain.push(c);
        }
    }
    rows.iter().find_map(|row| match row.kind {
        Kind::Table { rows, .. } if has(rows) => Some(format!("[{}]", join(&plain, row.key))),
        Kind::List { rows, .. } if has(rows) => Some(format!("[[{}]]", join(&plain, row.key))),
        _ => None,
    })
}

/// What a row has before defaults are filled in.
#[derive(Clone, Debug)]
pub(crate) enum Slot {
    /// Nothing is written.
    Empty,
    /// Something is written, but it is faulty; the fault is noted.
    Bad,
    /// An allowed value.
    Good(Value),
}

/// The rows of one table before defaults are filled in.
#[derive(Clone, Debug)]
pub(crate) struct Slots {
    pub(crate) rows: &'static [Param],
    pub(crate) path: String,
    pub(crate) place: Option<Place>,
    pub(crate) slots: Vec<Slot>,
}

/// Gives the bytes of a file that a job names, or says why it cannot.
pub type ReadFile<'a> = dyn Fn(&str) -> Result<Vec<u8>, String> + 'a;

/// For texts that are no files, and so have none beside them.
pub(crate) fn no_files(_: &str) -> Result<Vec<u8>, String> {
    Err("this text is no file in a folder, so 0 files are beside it".to_owned())
}

/// Reads tables of one text.
pub(crate) struct Reader<'a> {
    pub(crate) files: &'a ReadFile<'a>,
    pub(crate) source: &'a Arc<Source>,
    pub(crate) library: &'a Library,
    pub(crate) faults: &'a mut Faults,
}

impl Reader<'_> {
    pub(crate) fn place<T>(&self, spanned: &Spanned<T>) -> Place {
        Place::new(self.source, spanned.span())
    }

    /// Reads the keys of `table` that `rows` know. `beside` are keys that the
    /// caller reads itself.
    pub(crate) fn slots(
        &mut self,
        table: &DeTable<'_>,
        place: Place,
        rows: &'static [Param],
        path: &str,
        beside: &[&str],
    ) -> Slots {
        let mut slots = vec![Slot::Empty; rows.len()];
        let mut unknown: Vec<&str> = Vec::new();
        for (key, value) in table.iter() {
            let name: &str = key.get_ref();
            if beside.contains(&name) {
                continue;
            }
            let Some(index) = rows.iter().position(|row| row.key == name) else {
                let known = rows.iter().map(|row| row.key).chain(beside.iter().copied());
                self.unknown_key(key, path, known, header_of(rows, name, path));
                unknown.push(name);
                continue;
            };
            let row = &rows[index];
            slots[index] = match self.value(row, value, &join(path, row.key)) {
                Some(data) => {
                    Slot::Good(Value { data, origin: Origin::Written(self.place(value)) })
                }
                None => Slot::Bad,
            };
        }
        // A misspelt key is one mistake, not an unknown and a missing key.
        for name in unknown {
            let meant = nearest(name, rows.iter().map(|row| row.key)).into_iter().next();
            let index = rows.iter().position(|row| Some(row.key) == meant && row.required());
            if let Some(slot) = index.map(|index| &mut slots[index])
                && matches!(slot, Slot::Empty)
            {
                *slot = Slot::Bad;
            }
        }
        Slots { rows, path: path.to_owned(), place: Some(place), slots }
    }

    /// Notes a key that is not `known`; `below` is the header of a table that
    /// would know it.
    pub(crate) fn unknown_key<'k>(
        &mut self,
        key: &Spanned<std::borrow::Cow<'_, str>>,
        path: &str,
        known: impl Iterator<Item = &'k str>,
        below: Option<String>,
    ) {
        let name: &str = key.get_ref();
        let mut fault = Fault::new(What::UnknownKey { key: name.to_owned() }, path)
            .at(Place::new(self.source, key.span()));
        let known: Vec<&str> = known.collect();
        fault = match (below, did_you_mean(name, known.iter().copied())) {
            (Some(header), _) => {
                fault.hint(format!("{name} belongs under {header}: put that line above it"))
            }
            (None, Some(hint)) => fault.hint(hint),
            (None, None) => fault.hint(format!("known here: {}", known.join(", "))),
        };
        self.faults.push(fault);
    }

    /// A complete table, or none and at least one fault.
    pub(crate) fn table(
        &mut self,
        table: &DeTable<'_>,
        place: Place,
        rows: &'static [Param],
        path: &str,
        beside: &[&str],
    ) -> Option<Values> {
        let slots = self.slots(table, place, rows, path, beside);
        self.complete(slots, None)
    }

    /// Fills in defaults and asks for what is missing.
    pub(crate) fn complete(&mut self, slots: Slots, profile: Option<String>) -> Option<Values> {
        let Slots { rows, path, place, slots } = slots;
        let mut values = Vec::with_capacity(rows.len());
        for (row, slot) in rows.iter().zip(slots) {
            match slot {
                Slot::Good(value) => values.push(value),
                Slot::Bad => {}
                Slot::Empty => {
                    let path = join(&path, row.key);
                    if let Some(data) = self.default(row, &path, &place) {
                        values.push(Value { data, origin: Origin::Default });
                    }
                }
            }
        }
        (values.len() == rows.len()).then_some(Values { rows, path, place, profile, values })
    }

    fn default(&mut self, row: &'static Param, path: &str, place: &Option<Place>) -> Option<Data> {
        if row.required() {
            let what = What::Missing { expected: row.kind.describe() };
            self.faults.push(Fault::new(what, path).at(place.clone()).explained(row));
            return None;
        }
        Some(match row.kind {
            Kind::Number { default: Default::Value(value), .. } => Data::Number(value),
            Kind::Integer { default: Default::Value(value), .. } => Data::Integer(value),
            Kind::Flag { default } => Data::Flag(default),
            Kind::Choice { default: Default::Value(value), .. } => Data::Choice(value),
            Kind::Text { default: Default::Value(value), .. } => Data::Text(value.to_owned()),
            Kind::Component { family, default: Default::Value(name) } => {
                let profile = self.library.profile(family, name);
                let profile = profile.expect("a default names a shipped profile");
                Data::Table(profile.at_path(path, place.clone()))
            }
            _ => Data::Absent,
        })
    }

    fn value(
        &mut self,
        row: &'static Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
    ) -> Option<Data> {
        if value.get_ref().as_str() == Some(PLACEHOLDER) {
            let what = What::NotFilledIn { expected: row.kind.describe() };
            self.faults.push(Fault::new(what, path).at(self.place(value)).explained(row));
            return None;
        }
        match row.kind {
            Kind::Number { unit, min, max, .. } => {
                self.number(row, value, path, (unit, min, max)).map(Data::Number)
            }
            Kind::Integer { min, max, .. } => {
                self.integer(row, value, path, min, max).map(Data::Integer)
            }
            Kind::Flag { .. } => match value.get_ref().as_bool() {
                Some(flag) => Some(Data::Flag(flag)),
                None => self.wrong_type(row, value, path, None),
            },
            Kind::Choice { options, .. } => self.choice(row, value, path, options),
            Kind::Text { max_len, .. } => self.text(row, value, path, max_len),
            Kind::File { endings } => self.file(row, value, path, endings),
            Kind::Numbers { unit, min, max, count, .. } => {
                if let DeValue::String(text) = value.get_ref()
                    && unit == Unit::Mm
                    && let Some(meant) = length_in_text(text)
                {
                    let hint = format!("write [{}], without quotes or unit", number(meant));
                    return self.wrong_type(row, value, path, Some(hint));
                }
                let items = self.items(row, value, path, count)?;
                let mut numbers = Some(Vec::new());
                for (i, item) in items.iter().enumerate() {
                    let path = format!("{path}[{}]", i + 1);
                    let number = self.number(row, item, &path, (unit, min, max));
                    numbers = numbers.zip(number).map(|(mut all, one)| {
                        all.push(one);
                        all
                    });
                }
                numbers.map(Data::Numbers)
            }
            Kind::Points { min, max, count, .. } => {
                let items = self.items(row, value, path, count)?;
                let mut points = Some(Vec::new());
                for (i, item) in items.iter().enumerate() {
                    let point = self.point(row, item, &format!("{path}[{}]", i + 1), min, max);
                    points = points.zip(point).map(|(mut all, one)| {
                        all.push(one);
                        all
                    });
                }
                points.map(Data::Points)
            }
            Kind::Component { family, .. } => {
                self.component(row, family, value, path).map(Data::Table)
            }
            Kind::Table { rows, .. } => {
                let Some(table) = value.get_ref().as_table() else {
                    return self.wrong_type(row, value, path, None);
                };
                self.table(table, self.place(value), rows, path, &[]).map(Data::Table)
            }
            Kind::List { rows, count, .. } => {
                let items = self.items(row, value, path, count)?;
                let mut tables = Vec::new();
                for (i, item) in items.iter().enumerate() {
                    let path = format!("{path}[{}]", i + 1);
                    let Some(table) = item.get_ref().as_table() else {
                        self.wrong_type::<()>(row, item, &path, None);
                        continue;
                    };
                    tables.extend(self.table(table, self.place(item), rows, &path, &[]));
                }
                (tables.len() == items.len()).then_some(Data::List(tables))
            }
        }
    }

    /// A file that is named.
    fn file(
        &mut self,
        row: &'static Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        endings: &[&str],
    ) -> Option<Data> {
        let Some(name) = value.get_ref().as_str() else {
            return self.wrong_type(row, value, path, None);
        };
        let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
        let read = if endings.iter().any(|e| ending.eq_ignore_ascii_case(e)) {
            (self.files)(name)
        } else {
            Err(format!(
                "{} does not end in .{}",
                super::shown::quoted(name),
                endings.join(" or .")
            ))
        };
        match read {
            Ok(bytes) => Some(Data::File(Arc::new(GivenFile::new(name, bytes)))),
            Err(reason) => {
                let fault = Fault::new(What::Unreadable { reason }, path).at(self.place(value));
                let hint = format!("write {}", row.kind.describe());
                self.faults.push(fault.hint(hint));
                None
            }
        }
    }

    fn component(
        &mut self,
        row: &'static Param,
        family: &str,
        value: &Spanned<DeValue<'_>>,
        path: &str,
    ) -> Option<Values> {
        let rows = family_named(family).rows;
        match value.get_ref() {
            DeValue::String(name) => {
                let place = self.place(value);
                let profile = self.profile(family, name, place.clone(), path)?;
                Some(profile.at_path(path, Some(place)))
            }
            DeValue::Table(table) => {
                let mut slots = self.slots(table, self.place(value), rows, path, &["profile"]);
                let mut base = None;
                if let Some(named) = table.get("profile") {
                    let place = self.place(named);
                    let Some(name) = named.get_ref().as_str() else {
                        return self.wrong_type(row, named, &join(path, "profile"), None);
                    };
                    let profile = self.profile(family, name, place, &join(path, "profile"))?;
                    for (slot, value) in slots.slots.iter_mut().zip(&profile.values) {
                        if matches!(slot, Slot::Empty) {
                            *slot = Slot::Good(value.clone());
                        }
                    }
                    base = profile.profile.clone();
                }
                let values = self.complete(slots, base)?;
                self.check_together(family, &values).then_some(values)
            }
            _ => self.wrong_type(row, value, path, None),
        }
    }

    /// Notes values that the family does not allow together; true if none.
    pub(crate) fn check_together(&mut self, family: &str, values: &Values) -> bool {
        let conflicts = (family_named(family).check)(values);
        for conflict in &conflicts {
            let what = What::Conflict { reason: conflict.reason.clone() };
            let place = values.place(conflict.key);
            self.faults.push(Fault::new(what, values.path_of(conflict.key)).at(place));
        }
        conflicts.is_empty()
    }

    fn profile(&mut self, family: &str, name: &str, place: Place, path: &str) -> Option<Values> {
        if let Some(profile) = self.library.profile(family, name) {
            return Some(profile.clone());
        }
        let what = What::UnknownName { of: format!("profile of {family}"), name: name.to_owned() };
        let fault = Fault::new(what, path).at(place);
        let hint = did_you_mean(name, self.library.names(family));
        self.faults.push(
            match hint {
                Some(hint) => fault.hint(hint),
                None => fault,
            }
            .hint(format!("`borewright profiles {family}` lists what is known")),
        );
        None
    }
}

impl Values {
    /// A profile's values where a job names it.
    pub(crate) fn at_path(&self, path: &str, place: Option<Place>) -> Values {
        Values { path: path.to_owned(), place, ..self.clone() }
    }
}

/// Reads a whole text as one table of `rows`.
///
/// # Errors
/// All that is wrong with it.
pub fn read_values(
    source: &Arc<Source>,
    rows: &'static [Param],
    library: &Library,
) -> Result<Values, Faults> {
    let mut faults = Faults::default();
    let document = parse(source, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut reader = Reader { source, library, faults: &mut faults, files: &no_files };
    let place = Place::new(source, 0..0);
    let values = reader.table(document.get_ref(), place, rows, "", &[]);
    faults.or_value(values)
}

#[cfg(test)]
mod slip_tests {
    use super::slip;

    #[test]
    fn common_slips_are_named_with_what_to_write() {
        let cases = [
            ("length = 180 mm", "write 180, without the unit"),
            ("length = 18.0 cm # long", "write 18.0, without the unit"),
            ("gap = 0,3", "write 0.3 with a point"),
            ("bore = [28.06 28.1]", "put commas between: bore = [28.06, 28.1]"),
            ("bore = [28.06, 28.1", "close the list: bore = [28.06, 28.1]"),
            ("name = river wand", "put the text in quotes: name = \"river wand\""),
            ("bore = \u{201c}28\u{201d}", "use straight quotes"),
            ("name = \"river wand", "a quote is missing in the text of name"),
            ("format =", "write what format is behind the ="),
        ];
        for (line, wanted) in cases {
            let text = format!("[handle]\n{line}\ncaliper = 0.02\n");
            let at = text.find(line).expect("just written") + line.len();
            let hint = slip(&text, at).expect(line);
            assert!(hint.starts_with(wanted), "{line}: {hint}");
        }
        for line in ["length = 180", "bore = [28.06, 28.1]", "name = \"wand\"", "fit = true1-"] {
            assert!(slip(line, 0).is_none_or(|h| h.starts_with("put the text")), "{line}");
        }
    }
}
