//! The table of proof as a page of Markdown, and back.
use super::{Measure, Row, Section};

/// The page.
pub fn render(sections: &[Section]) -> String {
    let rows = || sections.iter().flat_map(|s| &s.rows);
    let held = rows().filter(|r| r.holds()).count();
    let mut out = format!(
        "# What the numbers are checked against\n\n\
         {held} of {} checks hold. Written by\n\
         `cargo run --release -p throwmap-tests --bin proof > tests/PROOF.md`; a test solves everything anew,\n\
         asserts every row and compares this page with what it measures. All at an accuracy of 0.3 %, corner\n\
         exponents at 0.1 %.\n",
        rows().count()
    );
    for section in sections {
        out += &format!("\n## {}\n\nSource: {}.\n", section.title, section.source);
        if !section.note.is_empty() {
            out += &format!("{}\n", section.note);
        }
        out += "\n| problem | quantity | expected | computed | error | allowed |\n\
                | --- | --- | --- | --- | --- | --- |\n";
        for row in &section.rows {
            out += &line(row);
        }
    }
    out
}

fn line(row: &Row) -> String {
    let error = match row.measure {
        Measure::Absolute => [row.error(), row.tolerance].map(|v| short(v, 2)),
        _ => [row.error(), row.tolerance].map(percent),
    };
    format!(
        "| {} | {} | {} | {} | {} | {} |\n",
        row.problem,
        row.quantity,
        short(row.expected, 4),
        short(row.computed, 4),
        error[0],
        error[1]
    )
}

fn percent(v: f64) -> String {
    if v < 5e-5 { "< 0.01 %".into() } else { format!("{:.2} %", 100.0 * v) }
}

/// At most this many significant digits, no trailing zeros.
fn short(v: f64, digits: i32) -> String {
    if v == 0.0 {
        return "0".into();
    }
    let decimals = (digits - 1 - v.abs().log10().floor() as i32).max(0) as usize;
    let text = format!("{v:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Everything in which a page differs from what is measured: rows missing or changed, computed
/// values beyond a quarter of their tolerance from the printed ones.
pub fn stale(page: &str, sections: &[Section]) -> Vec<String> {
    let cells = |line: &str| -> Vec<String> {
        line.trim().trim_matches('|').split(" | ").map(|c| c.trim().to_owned()).collect()
    };
    let printed: Vec<Vec<String>> = page
        .lines()
        .filter(|l| l.starts_with("| ") && !l.starts_with("| ---") && !l.starts_with("| problem "))
        .map(cells)
        .collect();
    let rows: Vec<&Row> = sections.iter().flat_map(|s| &s.rows).collect();
    let mut out = Vec::new();
    if printed.len() != rows.len() {
        out.push(format!("{} rows on the page, {} measured", printed.len(), rows.len()));
    }
    for (old, row) in printed.iter().zip(rows) {
        let new = cells(&line(row));
        // the worst point of a layout may be another on the next grid
        let worst = row.quantity.contains("worst");
        let same = |k: usize| old.get(k) == new.get(k);
        let value = old.get(3).and_then(|c| c.parse::<f64>().ok()).unwrap_or(f64::NAN);
        let off = (value - row.computed).abs();
        // the page shows four digits
        let close = off <= 0.25 * row.slack() + 1e-3 * row.computed.abs();
        let fits = if worst { same(0) } else { same(0) && same(1) && same(2) && close };
        if !fits {
            out.push(format!("{} / measured {}", old.join(" | "), new.join(" | ")));
        }
    }
    let titles = |s: &Section| page.contains(&format!("\n## {}\n", s.title));
    out.extend(sections.iter().filter(|s| !titles(s)).map(|s| format!("no section {}", s.title)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(computed: f64) -> Vec<Section> {
        let rows = vec![
            Row::relative("p", "q", 2.0, computed, 0.01),
            Row::absolute("z", "nothing", 0.0, 1e-3, 0.1),
        ];
        vec![Section { title: "T", source: "s", note: "n", rows }]
    }

    #[test]
    fn a_page_agrees_with_the_rows_it_was_made_from() {
        let page = render(&one(2.001));
        assert!(page.contains("| p | q | 2 | 2.001 | 0.05 % | 1.00 % |"), "{page}");
        assert!(page.contains("| z | nothing | 0 | 0.001 | 0.001 | 0.1 |"), "{page}");
        assert!(page.contains("2 of 2 checks hold"));
        assert_eq!(stale(&page, &one(2.001)), Vec::<String>::new());
        // the next grid may move a value a little, but not much
        assert!(stale(&page, &one(2.003)).is_empty());
        assert_eq!(stale(&page, &one(2.02)).len(), 1);
        assert_eq!(stale("", &one(2.0)).len(), 2);
    }

    #[test]
    fn a_row_that_misses_is_counted() {
        assert!(render(&one(2.5)).contains("1 of 2 checks hold"));
        assert!(!Row::relative("p", "q", 1.0, f64::NAN, 1.0).holds());
    }
}
