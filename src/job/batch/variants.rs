//! A table of variants: one job with other values in some of its fields.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use toml_edit::{ArrayOfTables, DocumentMut, Item, Value};

use crate::job::change::{held, set};

/// Most variants of one table: a catalogue, not an accident.
pub const MAX_VARIANTS: usize = 10_000_000;

/// Most fields that one table changes.
const MAX_FIELDS: usize = 32;

/// The variants of one table, made one by one when they are asked for.
#[derive(Clone, Debug)]
pub struct Variants {
    /// Stem of the table's name: the folder of its results.
    pub stem: String,
    rows: Rows,
    /// Digits of a variant's number in its name.
    digits: usize,
}

#[derive(Clone, Debug)]
enum Rows {
    /// Every value of each field with every value of the others; the last
    /// field changes fastest.
    Sweep { base: Arc<Base>, fields: Vec<(String, Vec<Value>)>, count: usize },
    /// As written, row by row.
    Listed(Vec<Listed>),
}

/// The job that is varied.
#[derive(Debug)]
struct Base {
    document: DocumentMut,
    /// The folder that it lies in.
    folder: PathBuf,
}

#[derive(Clone, Debug)]
struct Listed {
    name: Option<String>,
    base: Arc<Base>,
    values: Vec<(String, Value)>,
}

/// One variant.
#[derive(Clone, Debug)]
pub struct Variant {
    /// Name of its folder within that of the table.
    pub name: String,
    /// Each changed field with its value as written.
    pub values: Vec<(String, String)>,
    /// Text of its job, or why there is none.
    pub text: Result<String, String>,
    /// The folder of the job that is varied: where files that it names lie.
    pub folder: PathBuf,
}

/// Why a table of variants cannot be used: what, and where in it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{table}: {what}")]
pub struct BadVariants {
    /// Path of the table.
    pub table: String,
    /// What is wrong, with the place in the table.
    pub what: String,
}

impl Variants {
    /// Reads a table: CSV by its ending, else TOML. `read` gives the text of a
    /// job by its path; paths in the table count from the table's folder.
    ///
    /// # Errors
    /// What is wrong with the table or its base job.
    pub fn read(
        path: &Path,
        text: &str,
        read: &dyn Fn(&Path) -> Result<String, String>,
    ) -> Result<Variants, BadVariants> {
        let bad = |what: String| BadVariants { table: path.display().to_string(), what };
        let folder = path.parent().unwrap_or(Path::new(""));
        let base = |name: &str| {
            let path = folder.join(name);
            let document = read(&path)
                .and_then(|text| text.parse().map_err(|e| format!("{name} is no TOML: {e}")))?;
            let folder = path.parent().unwrap_or(Path::new("")).to_owned();
            Ok(Arc::new(Base { document, folder }))
        };
        let rows = if Self::is_list(path) { listed(text, &base) } else { sweep(text, &base) }
            .map_err(bad)?;
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let mut variants = Variants { stem, rows, digits: 1 };
        let count = variants.len();
        if count == 0 || count > MAX_VARIANTS {
            return Err(bad(format!("{count} variants; between 1 and {MAX_VARIANTS} can be made")));
        }
        variants.digits = digits(count);
        Ok(variants)
    }

    /// Whether a file is read as a list, which is CSV.
    pub fn is_list(path: &Path) -> bool {
        path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"))
    }

    /// Paths of the jobs that a file varies, counted from its folder; none of a job, which varies
    /// none.
    pub fn bases(path: &Path, text: &str) -> Vec<String> {
        if Self::is_list(path) {
            let mut reader = csv_of(text);
            let Ok(header) = reader.headers().cloned() else { return Vec::new() };
            let Some(column) = header.iter().position(|h| h == "base") else { return Vec::new() };
            let mut bases: Vec<String> = reader
                .records()
                .map_while(Result::ok)
                .filter_map(|record| record.get(column).map(str::to_owned))
                .collect();
            bases.sort();
            bases.dedup();
            return bases;
        }
        let document: Option<DocumentMut> = text.parse().ok();
        let base = document.as_ref().and_then(|document| document.get("base"));
        base.map(|base| base.as_str().unwrap_or_default().to_owned()).into_iter().collect()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        match &self.rows {
            Rows::Sweep { count, .. } => *count,
            Rows::Listed(rows) => rows.len(),
        }
    }

    /// Whether there is none, which [`Variants::read`] refuses.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// One of them, from 0.
    pub fn get(&self, index: usize) -> Option<Variant> {
        if index >= self.len() {
            return None;
        }
        let numbered = format!("{:0digits$}", index + 1, digits = self.digits);
        let (name, base, values) = match &self.rows {
            Rows::Listed(rows) => {
                let row = &rows[index];
                (row.name.clone().unwrap_or(numbered), &row.base, row.values.clone())
            }
            Rows::Sweep { base, fields, .. } => {
                let mut rest = index;
                let mut values = Vec::with_capacity(fields.len());
                for (field, all) in fields.iter().rev() {
                    values.push((field.clone(), all[rest % all.len()].clone()));
                    rest /= all.len();
                }
                values.reverse();
                (numbered, base, values)
            }
        };
        let mut document = base.document.clone();
        let set = values.iter().try_for_each(|(field, value)| put(&mut document, field, value));
        let text = set.map(|()| document.to_string());
        let written =
            |v: &Value| v.as_str().map_or_else(|| v.to_string().trim().to_owned(), str::to_owned);
        let values = values.iter().map(|(field, value)| (field.clone(), written(value))).collect();
        Some(Variant { name, values, text, folder: base.folder.clone() })
    }
}

type ReadBase<'a> = dyn Fn(&str) -> Result<Arc<Base>, String> + 'a;

/// `format`, `base`, and `[[sweep]]` tables with `field` and either `values` or
/// `from`, `to` and `count`.
fn sweep(text: &str, base: &ReadBase<'_>) -> Result<Rows, String> {
    let document: DocumentMut = text.parse().map_err(|e| format!("is no TOML: {e}"))?;
    for (key, _) in document.iter() {
        if !["format", "base", "sweep"].contains(&key) {
            return Err(format!(
                "unknown key {key}; a table of variants has format, base and sweep"
            ));
        }
    }
    let format = document.get("format").and_then(Item::as_integer);
    if format != Some(super::super::FORMAT) {
        return Err(format!("write `format = {}` as the first line", super::super::FORMAT));
    }
    let name = document.get("base").and_then(Item::as_str);
    let name = name.ok_or("base is missing: the path of the job that is varied, as a text")?;
    let base = base(name)?;
    let none = ArrayOfTables::new();
    let sweeps = match document.get("sweep") {
        None => &none,
        Some(item) => item.as_array_of_tables().ok_or("start each sweep with [[sweep]]")?,
    };
    if sweeps.is_empty() || sweeps.len() > MAX_FIELDS {
        return Err(format!("{} sweeps; between 1 and {MAX_FIELDS} can be given", sweeps.len()));
    }
    let mut fields: Vec<(String, Vec<Value>)> = Vec::new();
    for (i, table) in sweeps.iter().enumerate() {
        let at = |what: String| format!("sweep[{}]: {what}", i + 1);
        if let Some((key, _)) =
            table.iter().find(|(key, _)| !["field", "values", "from", "to", "count"].contains(key))
        {
            return Err(at(format!("unknown key {key}")));
        }
        let field = table.get("field").and_then(Item::as_str);
        let field = field.ok_or_else(|| at("field is missing, as \"part[1].fit\"".into()))?;
        if fields.iter().any(|(known, _)| known == field) {
            return Err(at(format!("{field} is swept already")));
        }
        let values = values(table).map_err(at)?;
        fields.push((field.to_owned(), values));
    }
    let count = fields.iter().try_fold(1_usize, |all, (_, values)| all.checked_mul(values.len()));
    let count = count.filter(|count| *count <= MAX_VARIANTS);
    let count = count.ok_or_else(|| format!("more than {MAX_VARIANTS} variants"))?;
    // A field that is not there is told at once and not a thousand times.
    let mut trial = base.document.clone();
    for (field, values) in &fields {
        put(&mut trial, field, &values[0])?;
    }
    Ok(Rows::Sweep { base, fields, count })
}

fn values(table: &toml_edit::Table) -> Result<Vec<Value>, String> {
    let number = |key: &str| {
        let item = table.get(key).ok_or_else(|| format!("{key} is missing"))?;
        let value = item.as_float().or(item.as_integer().map(|i| i as f64));
        value.filter(|v| v.is_finite()).ok_or_else(|| format!("{key} is no number"))
    };
    if let Some(item) = table.get("values") {
        if ["from", "to", "count"].iter().any(|key| table.contains_key(key)) {
            return Err("give either values, or from, to and count".into());
        }
        let list = item.as_array().ok_or("values is no list")?;
        if list.is_empty() {
            return Err("values is empty".into());
        }
        return Ok(list.iter().map(|v| v.clone().decorated(" ", "")).collect());
    }
    let (from, to) = (number("from")?, number("to")?);
    let count = table.get("count").and_then(Item::as_integer);
    let count =
        count.and_then(|c| usize::try_from(c).ok()).filter(|c| (2..=MAX_VARIANTS).contains(c));
    let count = count.ok_or(format!("count is no whole number from 2 to {MAX_VARIANTS}"))?;
    let value = |i: usize| {
        let exact = from + (to - from) * i as f64 / (count - 1) as f64;
        // So that 0.1 steps read as such.
        Value::from((exact * STEP_NOISE).round() / STEP_NOISE).decorated(" ", "")
    };
    Ok((0..count).map(value).collect())
}

/// Digits of the numbers of so many.
fn digits(count: usize) -> usize {
    count.to_string().len()
}

/// Parts of a unit to which the values of a sweep are rounded: what is smaller is float noise.
const STEP_NOISE: f64 = 1e9;

fn csv_of(text: &str) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes())
}

/// A header of fields, then a row for each variant. `base` names the job,
/// `name` the variant; a field whose cell is empty stays as it is.
fn listed(text: &str, base: &ReadBase<'_>) -> Result<Rows, String> {
    let mut reader = csv_of(text);
    let header = reader.headers().map_err(|e| format!("is no CSV: {e}"))?.clone();
    let Some(base_column) = header.iter().position(|h| h == "base") else {
        let other = text.lines().next().is_some_and(|line| line.contains(';'));
        let cure = if other { "; its columns are parted by ; and should be by ," } else { "" };
        return Err(format!("has no column base: the path of the job that each row varies{cure}"));
    };
    if header.len() > MAX_FIELDS {
        return Err(format!("has {} columns; at most {MAX_FIELDS} are read", header.len()));
    }
    for (i, field) in header.iter().enumerate() {
        if field.is_empty() || header.iter().take(i).any(|known| known == field) {
            return Err(format!(
                "column {} is called \"{field}\": each needs a name of its own",
                i + 1
            ));
        }
    }
    let mut known: Vec<(String, Arc<Base>)> = Vec::new();
    let mut names: std::collections::BTreeSet<String> = std::collections::BTreeSet::new();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| format!("is no CSV: {e}"))?;
        let line = record.position().map_or(0, csv::Position::line);
        let path = &record[base_column];
        let found = known.iter().find(|(name, _)| name == path).map(|(_, base)| base.clone());
        let base = match found {
            Some(base) => base,
            None => {
                let base = base(path).map_err(|what| format!("line {line}: {what}"))?;
                known.push((path.to_owned(), base.clone()));
                base
            }
        };
        let mut row = Listed { name: None, base, values: Vec::new() };
        for (field, cell) in header.iter().zip(&record) {
            match field {
                "base" => {}
                _ if cell.is_empty() => {}
                "name" => {
                    if crate::measure::bad_name(cell).is_some() || !names.insert(cell.to_owned()) {
                        return Err(format!(
                            "line {line}: name {cell}: only a-z, 0-9, -, _ and . may be in it, and each \
                             name is given once"
                        ));
                    }
                    row.name = Some(cell.to_owned());
                }
                _ => {
                    // What is no value by itself is a word.
                    let value = cell.parse().unwrap_or_else(|_| Value::from(cell));
                    row.values.push((field.to_owned(), value.decorated(" ", "")));
                }
            }
        }
        rows.push(row);
        if rows.len() > MAX_VARIANTS {
            return Err(format!("more than {MAX_VARIANTS} rows"));
        }
    }
    let digits = digits(rows.len());
    for (i, row) in rows.iter().enumerate() {
        let number = format!("{:0digits$}", i + 1);
        if row.name.is_none() && names.contains(&number) {
            return Err(format!(
                "row {} has no name and would be called {number}, as another row is: give it one",
                i + 1
            ));
        }
    }
    Ok(Rows::Listed(rows))
}

/// Writes a value of a table. A table knows nothing of a field's type: where the job has a word,
/// a number is the name of a profile that is made of digits.
fn put(document: &mut DocumentMut, field: &str, value: &Value) -> Result<(), String> {
    let number = value.is_integer() || value.is_float();
    if number && held(document, field).is_some_and(Item::is_str) {
        let word = Value::from(value.to_string().trim());
        return set(document, field, &word.decorated(" ", ""));
    }
    set(document, field, value)
}

#[cfg(test)]
mod tests {
    use super::*;

    const BASE: &str = "format = 1\n\n[handle]\nbore = [25.4, 25.5] # twice\n\n[[part]]\n\
                        kind = \"crystal_cradle\"\ncell = \"18650\"\n\n[part.stone]\nlength = 20\n";

    fn read(name: &str, text: &str) -> Result<Variants, String> {
        let base = |path: &Path| match path.to_string_lossy().as_ref() {
            "tables/base.toml" => Ok(BASE.to_owned()),
            other => Err(format!("cannot read {other}")),
        };
        Variants::read(Path::new(name), text, &base).map_err(|e| e.to_string())
    }

    #[test]
    fn small_steps_stay_apart_and_names_of_digits_stay_names() {
        let text = "format = 1\nbase = \"base.toml\"\n[[sweep]]\nfield = \"handle.caliper\"\n\
                    from = 0\nto = 0.002\ncount = 9\n";
        let variants = read("tables/a.toml", text).expect("right");
        let all: std::collections::BTreeSet<String> =
            (0..9).map(|i| variants.get(i).expect("there").values[0].1.clone()).collect();
        assert_eq!(all.len(), 9, "{all:?}");
        let cells = "base,part[1].cell,part[1].stone.length\nbase.toml,14500,20\n";
        let variants = read("tables/a.csv", cells).expect("right");
        let text = variants.get(0).expect("there").text.expect("set");
        assert!(text.contains("cell = \"14500\"") && text.contains("length = 20"), "{text}");
    }

    #[test]
    fn a_sweep_gives_every_combination_and_keeps_the_rest() {
        let text = "format = 1\nbase = \"base.toml\"\n[[sweep]]\nfield = \"part[1].stone.length\"\n\
                    from = 20\nto = 21\ncount = 11\n[[sweep]]\nfield = \"part[1].cell.length_max\"\n\
                    values = [65, 66.5]\n";
        let variants = read("tables/stones.toml", text).expect("right");
        assert_eq!((variants.len(), variants.stem.as_str()), (22, "stones"));
        let third = variants.get(3).expect("there");
        assert_eq!(third.name, "04");
        let values: Vec<(&str, &str)> =
            third.values.iter().map(|(f, v)| (f.as_str(), v.as_str())).collect();
        assert_eq!(values, [("part[1].stone.length", "20.1"), ("part[1].cell.length_max", "66.5")]);
        let text = third.text.expect("set");
        assert!(text.contains("bore = [25.4, 25.5] # twice"), "comments stay: {text}");
        assert!(text.contains("length = 20.1\n"), "{text}");
        assert!(text.contains("cell = { profile = \"18650\", length_max = 66.5}"), "{text}");
        let all: std::collections::BTreeSet<String> =
            (0..22).map(|i| variants.get(i).expect("there").text.expect("set")).collect();
        assert_eq!(all.len(), 22, "all differ");
        assert!(variants.get(22).is_none());
    }

    #[test]
    fn a_list_takes_names_words_and_leaves_empty_cells() {
        let text = "base, name, part[1].stone.length, print.printer, handle.bore[2]\n\
                    base.toml, short, 18.5, fdm-thin, 25.45\nbase.toml, , 30, ,\n";
        let variants = read("tables/list.csv", text).expect("right");
        // The base has no [print]: that variant says so, the other is made.
        let short = variants.get(0).expect("there");
        assert_eq!(short.name, "short");
        let said = short.text.expect_err("no table");
        assert!(said.contains("has no print"), "{said}");
        let second = variants.get(1).expect("there");
        assert_eq!(second.name, "2");
        assert_eq!(second.values, [("part[1].stone.length".to_owned(), "30".to_owned())]);
        assert!(second.text.expect("set").contains("length = 30\n"));
    }

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        let sweep = |more: &str| format!("format = 1\nbase = \"base.toml\"\n{more}");
        let cases = [
            ("a.toml", "base = 1".to_owned(), "format = 1"),
            ("a.toml", "format = 1".to_owned(), "base is missing"),
            (
                "a.toml",
                "format = 1\nbase = \"none.toml\"".to_owned(),
                "cannot read tables/none.toml",
            ),
            ("a.toml", sweep(""), "0 sweeps"),
            ("a.toml", sweep("[[sweep]]\nvalues = [1]"), "sweep[1]: field is missing"),
            ("a.toml", sweep("[[sweep]]\nfield = \"a.b\"\nvalues = [1]"), "has no a"),
            ("a.toml", sweep("[[sweep]]\nfield = \"handle.bore\"\nvalues = []"), "values is empty"),
            (
                "a.toml",
                sweep("[[sweep]]\nfield = \"handle.bore\"\nfrom = 1\nto = 2"),
                "count is no",
            ),
            (
                "a.toml",
                sweep("[[sweep]]\nfield = \"handle.bore[3]\"\nvalues = [1]"),
                "no such entry",
            ),
            ("a.toml", sweep("[[sweep]]\nfield = \"handle.\"\nvalues = [1]"), "is no field"),
            ("a.toml", sweep("steps = 1"), "unknown key steps"),
            (
                "a.toml",
                sweep(
                    "[[sweep]]\nfield = \"handle.a\"\nfrom = 1\nto = 2\ncount = 10000\n\
                     [[sweep]]\nfield = \"handle.b\"\nfrom = 1\nto = 2\ncount = 10000",
                ),
                "more than 10000000 variants",
            ),
            ("a.csv", "name\nx\n".to_owned(), "no column base"),
            ("a.csv", "base,base\n".to_owned(), "name of its own"),
            ("a.csv", "base\n".to_owned(), "0 variants"),
            (
                "a.csv",
                "base,name\nbase.toml,x\nbase.toml,x\n".to_owned(),
                "line 3: name x: only a-z",
            ),
            ("a.csv", "base,a\nbase.toml\n".to_owned(), "is no CSV"),
            (
                "a.csv",
                "base,name\nbase.toml,2\nbase.toml,\n".to_owned(),
                "row 2 has no name and would be called 2",
            ),
        ];
        for (name, text, wanted) in cases {
            let said = read(&format!("tables/{name}"), &text).expect_err(&text);
            assert!(said.starts_with("tables/a.") && said.contains(wanted), "{text}: {said}");
        }
    }
}
