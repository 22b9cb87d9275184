//! Bytes to rows of cells: encoding and separator are found out.

/// A row with the line of the file on which it begins.
pub(super) type Row = (u64, Vec<String>);

/// The text of a file: UTF-8, UTF-16 with its mark, or else Western European.
pub(super) fn text(bytes: &[u8]) -> String {
    let wide = |rest: &[u8], join: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = rest
            .chunks_exact(2)
            .filter_map(|pair| <[u8; 2]>::try_from(pair).ok())
            .map(join)
            .collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            // Every byte is a character of ISO 8859-1, so nothing is lost.
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    }
}

/// The separator that makes the most even table of the first lines.
pub(super) fn separator(text: &str) -> u8 {
    let head = text.lines().take(20).collect::<Vec<_>>().join("\n");
    let score = |separator: u8| {
        // Making a reader is slow beside reading a small table.
        if !head.as_bytes().contains(&separator) {
            return (0, 0);
        }
        let rows = rows(&head, separator);
        let width = rows.first().map_or(0, |(_, cells)| cells.len());
        let even = rows
            .iter()
            .filter(|(_, cells)| cells.len() == width)
            .count();
        if width < 2 { (0, 0) } else { (even, width) }
    };
    let candidates = [b',', b';', b'\t', b'|'];
    candidates
        .into_iter()
        // The first of equals wins: the comma.
        .rev()
        .max_by_key(|s| score(*s))
        .unwrap_or(b',')
}

/// All rows that are not empty.
pub(super) fn rows(text: &str, separator: u8) -> Vec<Row> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes())
        .into_records()
        .filter_map(Result::ok)
        .map(|record| {
            let line = record.position().map_or(0, csv::Position::line);
            (line, record.iter().map(str::to_owned).collect::<Vec<_>>())
        })
        .filter(|(_, cells)| cells.iter().any(|c| !c.trim().is_empty()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators_are_found_out() {
        assert_eq!(separator("date,sg\n2026-01-01,1.05\n"), b',');
        assert_eq!(
            separator("date;sg\n2026-01-01;1,05\n2026-01-02;1,04\n"),
            b';'
        );
        assert_eq!(separator("date\tsg, corrected\n2026-01-01\t1.05\n"), b'\t');
        assert_eq!(separator("sg\n1.05\n"), b',');
    }

    #[test]
    fn encodings_are_found_out() {
        assert_eq!(text("\u{feff}°F".as_bytes()), "°F");
        assert_eq!(text(b"\xb0F"), "°F");
        assert_eq!(text(b"\xff\xfe\xb0\0F\0"), "°F");
    }

    #[test]
    fn a_row_knows_its_line_also_behind_a_note_of_two_lines() {
        let found = rows("a,b\n\"one\ntwo\",2\n\n,\n3,4\n", b',');
        let lines: Vec<u64> = found.iter().map(|(line, _)| *line).collect();
        assert_eq!(lines, [1, 2, 6]);
    }
}
