//! How long texts are in the font of drawings, Helvetica or what is like it: one of the fonts
//! that every reader of PDF has (ISO 32000-1, 9.6.2.2).

/// Height of capitals as a share of the size of the font: its metrics say 718 in 1000.
pub(super) const CAPITALS: f64 = 0.718;

/// How far texts reach above their baseline, in heights of capitals: accents of capitals.
pub(super) const ASCENT: f64 = 1.05;

/// How far below, in heights of capitals: 207 in 718.
pub(super) const DESCENT: f64 = 0.29;

/// Widths of the characters from space to tilde, in thousandths of the font's size: its
/// published metrics (Adobe core 14 fonts, AFM), from memory, and compared once with a PDF
/// library's tables.
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// The same in bold.
const BOLD_WIDTHS: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

/// Width of a character that the table does not have, in thousandths: as wide as the widest
/// letters of other scripts are in fonts of this kind, from memory.
const OTHER: u16 = 1000;

/// How long a text is, mm, with capitals of `height` mm.
pub fn text_width(text: &str, height: f64, bold: bool) -> f64 {
    let thousandths: f64 = text.chars().map(|c| f64::from(width(c, bold))).sum();
    thousandths * 1e-3 * height / CAPITALS
}

fn width(c: char, bold: bool) -> u16 {
    let table = if bold { &BOLD_WIDTHS } else { &WIDTHS };
    let plain = match c {
        ' '..='~' => c,
        'À'..='Å' => 'A',
        'Ç' => 'C',
        'È'..='Ë' => 'E',
        'Ì'..='Ï' => 'I',
        'Ñ' => 'N',
        'Ò'..='Ö' | 'Ø' => 'O',
        'Ù'..='Ü' => 'U',
        'Ý' => 'Y',
        'à'..='å' => 'a',
        'ç' => 'c',
        'è'..='ë' => 'e',
        'ì'..='ï' => ':',
        'ñ' | 'ò'..='ö' => 'o',
        'ø' | 'ß' => return 611,
        'ù'..='ü' => 'u',
        'ý' | 'ÿ' => 'y',
        '±' | '×' | '÷' => '+',
        '°' => return 400,
        '²' | '³' | '¹' => '`',
        'µ' => 'u',
        '·' => '.',
        '–' | '€' | '£' | '§' => '0',
        _ => return OTHER,
    };
    table[plain as usize - ' ' as usize]
}

/// The code of a character in the encoding of PDF texts (WinAnsiEncoding, ISO 32000-1, annex
/// D): Latin-1, and the dash; none for others.
pub(super) fn code(c: char) -> Option<u8> {
    match c {
        ' '..='~' | '\u{a0}'..='\u{ff}' => u8::try_from(u32::from(c)).ok(),
        '–' => Some(0x96),
        '€' => Some(0x80),
        _ => None,
    }
}

/// The characters of a text that the PDF's font does not have; a question mark stands there
/// in their place.
pub fn unprintable(text: &str) -> Vec<char> {
    let mut found: Vec<char> = text.chars().filter(|&c| code(c).is_none()).collect();
    found.sort_unstable();
    found.dedup();
    found
}
