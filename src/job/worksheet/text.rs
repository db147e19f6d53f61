//! The sheet as text.

use super::{Help, Need, Sheet, Slot};
use crate::measure::{columns, wrapped};

/// Width of lines, characters.
const WIDTH: usize = 92;

/// The sheet as lines of text, with rows of points to write on.
pub fn text(sheet: &Sheet) -> String {
    let mut out = format!("{}\n{}\n", sheet.title, "=".repeat(sheet.title.chars().count()));
    for line in &sheet.intro {
        out.push_str(&wrapped(line, "", "", WIDTH));
    }
    for caution in &sheet.cautions {
        out.push('\n');
        out.push_str(&wrapped(&format!("caution: {caution}"), "", "  ", WIDTH));
    }
    if !sheet.helps.is_empty() {
        out.push_str("\nWhat would make the fits surer: odds in 100 that it binds or rattles, now and with half\nof the error\n");
        out.push_str(&columns(&helps(&sheet.helps), "  "));
    }
    for group in &sheet.groups {
        out.push_str(&format!("\n[{}]\n", group.path));
        if !group.doc.is_empty() {
            out.push_str(&wrapped(&group.doc, "", "", WIDTH));
        }
        group.slots.iter().for_each(|slot| out.push_str(&entry(slot)));
    }
    if let Some(accuracy) = &sheet.accuracy {
        out.push_str("\nHow the caliper's error changes the fit\n");
        out.push_str(&wrapped(&accuracy.about(), "", "", WIDTH));
        let head = ["error", "gap drawn", "at worst", "binds", "rattles"].map(str::to_owned);
        let rows = accuracy.rows.iter().map(|row| {
            let own = if row.own { " (yours)" } else { "" };
            vec![
                format!("{}{own}", row.error),
                format!("{:.2}", row.gap),
                format!("{:.2} to {:.2}", row.worst[0], row.worst[1]),
                format!("{:.1} in 100", 100.0 * row.binds),
                format!("{:.1} in 100", 100.0 * row.rattles),
            ]
        });
        let rows: Vec<Vec<String>> = std::iter::once(head.to_vec()).chain(rows).collect();
        out.push_str(&columns(&rows, "  "));
    }
    out
}

fn helps(helps: &[Help]) -> Vec<Vec<String>> {
    let head = ["measure", "off by", "now", "then", "gains most"].map(str::to_owned).to_vec();
    let rows = helps.iter().map(|Help { field, half, most: (body, fit, now, then), .. }| {
        let (now, then) = (100.0 * now, 100.0 * then);
        let off = format!("{half:.3} mm");
        vec![
            field.clone(),
            off,
            format!("{now:.1}"),
            format!("{then:.1}"),
            format!("{body}: {fit}"),
        ]
    });
    std::iter::once(head).chain(rows).collect()
}

fn entry(slot: &Slot) -> String {
    let blank = |long: usize| ".".repeat(long);
    let readings = match slot.readings {
        n if n > 1 => format!("  read {}", vec![blank(7); n].join(" ")),
        _ => String::new(),
    };
    let value = match (slot.all, &slot.need) {
        (true, _) => "  = all of them, as a list".to_owned(),
        (false, Need::Given(now)) => format!("  = {} {} (now {now})", blank(10), slot.unit),
        (false, _) => format!("  = {} {}", blank(10), slot.unit),
    };
    let star = if slot.need == Need::Must { " *" } else { "" };
    let line = format!("  {}{star}{readings}{value}", slot.key);
    let about = format!("{} ({}; {})", slot.doc, slot.method.words(), slot.expects);
    format!("{}\n{}", line.trim_end(), wrapped(&about, "      ", "      ", WIDTH))
}
