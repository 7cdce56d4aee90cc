//! The report of a run: one file that needs nothing else, says what the summary says, reads
//! without a script, and prints on two pages.
//!
//! Page count and the script are checked in Chromium where it is installed; elsewhere these two say
//! loudly that they were skipped.
use std::path::{Path, PathBuf};
use std::process::Command;

use throwmap::ExitStatus;

/// Runs a job with more arguments; the exit status and what was said.
fn run(job: &Path, more: &[&str]) -> (ExitStatus, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let start = ["throwmap", "run", &job.display().to_string(), "--force"].map(String::from);
    let args = start.into_iter().chain(more.iter().map(|word| (*word).to_owned()));
    let status = throwmap::run(args, &mut out, &mut err);
    (status, String::from_utf8_lossy(&[out, err].concat()).into_owned())
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples").join(name)
}

/// A page and where it is.
struct Made {
    folder: tempfile::TempDir,
    page: String,
}

fn page(job: &Path) -> Made {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("report.html");
    let (status, told) = run(job, &["-o", &path.display().to_string()]);
    assert!(matches!(status, ExitStatus::Done | ExitStatus::WantMissed), "{told}");
    let names: Vec<_> = std::fs::read_dir(folder.path()).expect("readable").collect();
    assert_eq!(names.len(), 1, "the page and nothing else");
    Made { page: std::fs::read_to_string(&path).expect("a page"), folder }
}

/// The page without the content of its script, which is no markup.
fn markup(page: &str) -> String {
    let (mut out, mut rest) = (String::new(), page);
    while let Some(start) = rest.find("<script>") {
        let end = rest[start..].find("</script>").expect("an end") + start;
        out.push_str(&rest[..start]);
        rest = &rest[end + "</script>".len()..];
    }
    out + rest
}

fn checked(made: &Made) {
    let page = &made.page;
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    // the only addresses are the names of XML's own vocabularies
    let fetched = page.replace("http://www.w3.org/2000/svg", "");
    for word in ["http:", "https:", "//cdn", "@import", "url(", "src=\"/", "<link"] {
        assert!(!markup(&fetched).contains(word), "{word}");
    }
    assert!(page.contains(&format!("throwmap {}", env!("CARGO_PKG_VERSION"))));
    let text = markup(page).replace("<!DOCTYPE html>", "");
    let tree = roxmltree::Document::parse(&text).expect("well-formed markup");
    let all = || tree.descendants().filter(|n| n.is_element());
    let named = |name: &'static str| all().filter(move |n| n.tag_name().name() == name);
    assert_eq!(tree.root_element().attribute("lang"), Some("en"));
    for landmark in ["header", "main", "footer", "h1"] {
        assert_eq!(named(landmark).count(), 1, "{landmark}");
    }
    for image in named("img") {
        assert!(image.attribute("alt").is_some_and(|alt| alt.len() > 40));
        assert!(image.attribute("src").is_some_and(|s| s.starts_with("data:image/png;base64,")));
    }
    assert!(named("img").count() >= 3);
    for svg in named("svg") {
        let hidden = svg.attribute("aria-hidden") == Some("true");
        let told = svg.attribute("role") == Some("img") && svg.attribute("aria-label").is_some();
        assert!(hidden || told);
    }
    for section in named("section") {
        let label = section.attribute("aria-labelledby").expect("a label");
        assert!(all().any(|n| n.attribute("id") == Some(label)), "{label}");
    }
    for table in named("table") {
        assert!(table.children().any(|n| n.tag_name().name() == "caption"));
        assert!(table.descendants().any(|n| n.attribute("scope") == Some("col")));
        let columns = table.descendants().filter(|n| n.attribute("scope") == Some("col")).count();
        for row in table.descendants().filter(|n| n.tag_name().name() == "tr").skip(1) {
            let cells = row.children().filter(|n| n.is_element()).count();
            assert_eq!(cells, columns, "a row of another length");
        }
    }
    let ids: Vec<&str> = all().filter_map(|n| n.attribute("id")).collect();
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "an id twice");
}

/// The cup of the README's example with a wish that it misses.
fn wished(folder: &Path, want: &str) -> PathBuf {
    let job = std::fs::read_to_string(example("01_bell_recess.toml")).expect("the example");
    let path = folder.join("wished.toml");
    std::fs::write(&path, format!("{job}\n[want]\n{want}\n")).expect("writable");
    path
}

#[test]
fn a_page_needs_nothing_else_and_is_well_formed() {
    for name in ["01_bell_recess.toml", "10_turning_lever.toml", "13_axial_cup_inside_anode.toml"] {
        checked(&page(&example(name)));
    }
}

#[test]
fn a_rack_of_thirty_stays_below_two_megabytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("rack.toml");
    let mut text = String::from(
        "title = \"Rack of <thirty> & more\"\nunit = \"mm\"\n\
        tank = { size = [2000, 800], depth = 400 }\nbath = { use = \"watts-nickel\" }\n\
        [[anode]]\nname = \"front\"\nrect = { at = [1000, 30], size = [1800, 20] }\n\
        [[anode]]\nname = \"rear\"\nrect = { at = [1000, 770], size = [1800, 20] }\n\
        [supply]\ncurrent_density = \"3 A/dm2\"\n[run]\ntime = \"20 min\"\n",
    );
    for (name, y) in [("low", 250), ("mid", 400), ("high", 550)] {
        text.push_str(&format!(
            "[[part]]\nname = \"{name}\"\ndisc = {{ at = [280, {y}], radius = 20 }}\n\
            repeat = {{ count = 10, step = [160, 0] }}\n"
        ));
    }
    std::fs::write(&job, text).expect("writable");
    let made = page(&job);
    checked(&made);
    assert!(made.page.contains("Rack of &#60;thirty&#62; &#38; more"));
    assert!(made.page.matches("\"b\":").count() > 1000);
}

#[test]
fn the_verdict_says_what_the_summary_says() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = wished(folder.path(), "min_thickness = \"20 um\"");
    let made = page(&job);
    let out = folder.path().join("out");
    run(&job, &["--out-dir", &out.display().to_string()]);
    let text = std::fs::read_to_string(out.join("summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let part = &summary["bodies"][0];
    assert_eq!(part["name"], "bell");
    let number = |value: &serde_json::Value| value.as_f64().expect("a number");
    let thin = number(&part["significant_thickness_um"]["min"]);
    let fat = number(&summary["verdict"]["max_thickness_um_then"]);
    // three significant digits by another way than the page's
    let three = |x: f64| {
        let unit = 10f64.powi(2 - x.abs().log10().floor() as i32);
        (x * unit).round() / unit
    };
    let lead = made.page.split("class=\"lead").nth(1).expect("a lead");
    let lead = lead.split("</div>").next().expect("its end").to_owned();
    let said = |words: &str| -> Vec<f64> {
        let before = lead.split(words).collect::<Vec<_>>();
        before[..before.len() - 1]
            .iter()
            .filter_map(|text| text.trim_end().rsplit(' ').next()?.parse().ok())
            .collect()
    };
    assert!(said("µm").contains(&three(thin)), "{thin} in {lead}");
    assert!(said("µm").contains(&20.0), "{lead}");
    assert!(said("µm").contains(&three(fat)), "{fat} in {lead}");
    assert!(lead.contains("Misses what the job wants") && lead.contains("missed"), "{lead}");
    assert!(lead.contains("The bottom of the recess gets"), "{lead}");
    assert!(lead.contains("the rim of the recess"), "{lead}");
    // the job's own text is in the page, so that it can be repeated
    let written = std::fs::read_to_string(&job).expect("the job");
    let escaped = written.replace('&', "&#38;").replace('<', "&#60;").replace('>', "&#62;");
    let escaped = escaped.replace('"', "&#34;").replace('\'', "&#39;");
    assert!(made.page.contains(&escaped));
}

/// What an anode carries beyond what it stands is said among the first things.
#[test]
fn an_overloaded_anode_is_in_the_verdict() {
    let Made { page, .. } = page(&example("12_windlass_housing_two_rectifiers.toml"));
    let verdict = page.split("Where the metal goes").next().expect("a verdict");
    let said = verdict.find("Anode inside carries").expect("the anode is named");
    assert!(verdict[said..].contains("OVER its limit of 3.00 A/dm²"), "{}", &verdict[said..]);
    assert!(!verdict.contains("Anode left"));
}

#[test]
fn a_wish_that_is_met_is_met_in_words() {
    let folder = tempfile::tempdir().expect("a folder");
    let made = page(&wished(folder.path(), "min_thickness = \"0.2 um\""));
    assert!(made.page.contains("class=\"lead met\""));
    assert!(made.page.contains("Meets what the job wants"));
}

#[test]
fn several_baths_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("report.html");
    let job = example("11_handrail_foot_three_baths.toml");
    let (status, told) = run(&job, &["-o", &path.display().to_string()]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(told.contains("one bath") && told.contains("3 layers"), "{told}");
    assert!(!path.exists());
}

/// Relative luminance and contrast after WCAG 2.1.
fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let luminance = |colour: [u8; 3]| -> f64 {
        let linear = colour.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn every_text_stands_out_in_light_and_dark() {
    // black on white is 21 by definition
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    let style = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/templates/report/style.css");
    let style = std::fs::read_to_string(style).expect("the style");
    let blocks: Vec<&str> = style.split(":root {").skip(1).collect();
    assert_eq!(blocks.len(), 3, "light, dark, paper");
    for block in blocks {
        let block = block.split('}').next().expect("an end");
        let colour = |name: &str| -> [u8; 3] {
            let found = block.split(&format!("--{name}: #")).nth(1).expect("a colour");
            let hex = |k: usize| u8::from_str_radix(&found[k..k + 2], 16).expect("hex digits");
            [hex(0), hex(2), hex(4)]
        };
        for text in ["ink", "faint", "good", "bad", "plain", "link", "wanted"] {
            for ground in ["ground", "raised"] {
                let found = contrast(colour(text), colour(ground));
                assert!(found >= 4.5, "{text} on {ground}: {found:.2}");
            }
        }
        // lines and marks need 3 (WCAG 2.1, 1.4.11)
        for mark in ["line", "mark", "rule"] {
            let found = contrast(colour(mark), colour("ground"));
            assert!(found >= 3.0, "{mark}: {found:.2}");
        }
    }
}

/// Chromium without a window; `None`, said loudly, where there is none.
fn chromium(what: &str, args: &[&str]) -> Option<Vec<u8>> {
    let profile = tempfile::tempdir().expect("a folder");
    let data = format!("--user-data-dir={}", profile.path().display());
    for name in ["chromium", "chromium-browser", "google-chrome"] {
        let mut command = Command::new(name);
        command.args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic"]);
        command.args(["--no-first-run", "--host-resolver-rules=MAP * ~NOTFOUND", &data]);
        if let Ok(output) = command.args(args).output() {
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            return Some(output.stdout);
        }
    }
    eprintln!("!!! SKIPPED: no Chromium on this machine, so nobody looked at {what}");
    None
}

#[test]
fn the_page_prints_on_two_sheets() {
    let made = page(&example("01_bell_recess.toml"));
    let path = made.folder.path().join("report.html");
    let pdf = made.folder.path().join("report.pdf");
    let to = format!("--print-to-pdf={}", pdf.display());
    let url = format!("file://{}", path.display());
    if chromium("the printed pages", &["--no-pdf-header-footer", &to, &url]).is_none() {
        return;
    }
    let bytes = std::fs::read(pdf).expect("a PDF");
    let text = String::from_utf8_lossy(&bytes);
    let pages = text.matches("/Type /Page").count() - text.matches("/Type /Pages").count();
    assert_eq!(pages, 2);
    // A4 is 210 by 297 mm: 595 by 842 points
    assert!(
        text.contains("/MediaBox [0 0 594.95996 841.91998]") || text.contains("/MediaBox [0 0 595")
    );
}

#[test]
fn pointing_at_one_picture_shows_the_place_in_all() {
    let made = page(&example("01_bell_recess.toml"));
    let path = made.folder.path().join("report.html");
    // the pointer goes to the middle of the profile; what the script did is left in the document
    let pointing = "<script>addEventListener('load', () => {\
        const box = document.querySelector('[data-picture=profile]');\
        const area = box.getBoundingClientRect();\
        box.dispatchEvent(new PointerEvent('pointermove', { clientX: area.left + area.width / 2,\
        clientY: area.top + area.height / 2, bubbles: true })); });</script></body>";
    std::fs::write(&path, made.page.replace("</body>", pointing)).expect("writable");
    let url = format!("file://{}", path.display());
    let Some(dom) = chromium("the script", &["--virtual-time-budget=2000", "--dump-dom", &url])
    else {
        return;
    };
    let dom = String::from_utf8_lossy(&dom);
    let shown = dom.matches("class=\"spot\"").count();
    assert_eq!(shown, 4, "a ring in each of four pictures");
    assert_eq!(dom.matches("visibility=\"visible\"").count(), 8, "both rings of each are seen");
    let readout = dom.split("id=\"readout\"").nth(1).and_then(|t| t.split("</p>").next());
    let readout = readout.expect("a readout");
    // half way round the bell is the bottom of its recess
    assert!(readout.contains("bell, the ") && readout.contains("recess"), "{readout}");
    assert!(readout.contains("µm") && readout.contains("A/dm²"), "{readout}");
}
