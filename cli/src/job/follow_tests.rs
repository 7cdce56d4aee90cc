//! Jobs with outlines that follow another body.

use super::{Resolved, resolve};
use crate::diagnostic::Source;

/// A part with a place for more of its keys, an anode by `follow`, and more bodies.
fn job(part: &str, follow: &str, more: &str) -> Result<Resolved, String> {
    let text = format!(
        "title = \"t\"\nunit = \"mm\"\ntank = {{ size = [400, 300], depth = 100 }}\n\
         bath = {{ use = \"watts-nickel\" }}\nsupply = {{ current = \"3 A\" }}\n\
         [[anode]]\nname = \"jaw\"\nfollow = {follow}\n{more}\
         [[part]]\nname = \"block\"\n{part}\n"
    );
    let source = Source { name: "job.toml".to_owned(), text };
    resolve(&source).map_err(|faults| {
        let all: Vec<String> = faults.iter().map(|fault| fault.render(&source, false)).collect();
        all.join("\n")
    })
}

const BLOCK: &str = "rect = { at = [200, 150], size = [60, 40] }";

/// Area of the anode, mm².
fn area(job: &Resolved) -> f64 {
    let anode = job.layout.bodies.iter().find(|body| body.name == "jaw").expect("the anode");
    anode.outline.area() * 1e6
}

#[test]
fn a_stretch_follows_its_part_however_that_hangs() {
    // from the lower left corner along the bottom: 60 by 8, wherever the block is
    let by_points =
        "{ body = \"block\", gap = 30, thickness = 8, from = [170, 130], to = [230, 130] }";
    let turned = format!("{BLOCK}\nmirror = \"x\"\nturn = 30\nmove = [10, -5]");
    for part in [BLOCK, turned.as_str()] {
        let job = job(part, by_points, "").expect("an anode");
        assert!((area(&job) - 480.0).abs() < 1e-6, "{}", area(&job));
        let [jaw, block] = job.layout.bodies.as_slice() else { panic!("two bodies") };
        assert!((jaw.outline.gap(&block.outline) - 0.030).abs() < 1e-9);
    }
    let by_corners =
        "{ body = \"block\", gap = \"3 cm\", thickness = 8, from_corner = 1, to_corner = 2 }";
    let job = job(BLOCK, by_corners, "").expect("an anode");
    assert!((area(&job) - 480.0).abs() < 1e-6 && job.warnings.is_empty());
}

#[test]
fn copies_holes_and_followers_of_followers_are_followed() {
    let tube = "ring = { at = [150, 150], outer = 40, inner = 30 }\nrepeat = { count = 2, step = [100, 0] }";
    let rod = "{ body = \"block-2\", gap = 10, thickness = 5, hole = true }";
    let more = "[[shield]]\nname = \"bag\"\nfollow = { body = \"jaw\", gap = 2, thickness = 1, clearance = 1 }\n\
                [[anode]]\nname = \"slab\"\nrect = { at = [40, 150], size = [10, 100] }\n";
    let job = job(tube, rod, more).expect("a ring in the second bore");
    let pi = std::f64::consts::PI;
    assert!((area(&job) - pi * (400.0 - 225.0)).abs() < 1e-6);
    let bag = job.layout.bodies.iter().find(|body| body.name == "bag").expect("the bag");
    assert!((bag.outline.area() * 1e6 - pi * (23.0 * 23.0 - 22.0 * 22.0)).abs() < 1e-6);
    assert!(bag.outline.bounds().x0 > 0.2, "around the second copy");
}

#[test]
fn a_wall_cuts_it_and_it_is_said() {
    let all_around = "{ body = \"block\", gap = 30, thickness = 90 }";
    let job =
        job("rect = { at = [200, 150], size = [60, 260] }", all_around, "").expect("two anodes");
    let told = |what: &str| job.warnings.iter().any(|warning| warning.message.contains(what));
    // above and below there is no room for it
    assert!(told("is cut into 2 pieces") && told("does not reach `block` at [200, 2"));
    assert_eq!(job.warnings.len(), 2);
    let jaw = &job.layout.bodies[0].outline;
    assert!(jaw.gap(&job.layout.tank) > 0.005 - 1e-9);
}

#[test]
fn what_cannot_be_followed_says_why() {
    let cases = [
        ("{ body = \"blok\", gap = 30, thickness = 8 }", ""),
        ("{ body = \"jaw\", gap = 30, thickness = 8 }", ""),
        ("{ body = \"block\", gap = 30 }", ""),
        ("{ body = \"block\", gap = -3, thickness = 8, hole = 1 }", ""),
        ("{ body = \"block\", gap = 3, thickness = 8, hole = true }", ""),
        ("{ body = \"block\", gap = 260, thickness = 8 }", ""),
        ("{ body = \"block\", gap = 3, thickness = 8, from = [170, 130] }", ""),
        ("{ body = \"block\", gap = 3, thickness = 8, from = [170, 130], to = [170, 130] }", ""),
        (
            "{ body = \"bag\", gap = 3, thickness = 8 }",
            "[[shield]]\nname = \"bag\"\nfollow = { body = \"jaw\", gap = 2, thickness = 1 }\n",
        ),
    ];
    let told = cases.map(|(follow, more)| job(BLOCK, follow, more).expect_err(follow));
    insta::assert_snapshot!(told.join("\n\n"));
}

#[test]
fn a_tank_comes_out_of_a_drawing_as_well() {
    let folder = tempfile::tempdir().expect("a folder");
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='400mm' height='300mm' viewBox='0 0 400 300'><path id='inside' d='M0 0H400V200L300 300H0Z'/></svg>";
    std::fs::write(folder.path().join("tank.svg"), svg).expect("writable");
    let text =
        "title = \"t\"\nunit = \"cm\"\nbath = { use = \"watts-nickel\" }\nsupply = { current = \"3 A\" }\n\
         tank = { outline = { file = { name = \"tank.svg\", id = \"inside\" } }, depth = 10 }\n\
         [[part]]\nname = \"bar\"\ndisc = { at = [20, 15], radius = 3 }\n\
         [[anode]]\nname = \"slab\"\nrect = { at = [2, 15], size = [1, 10] }\n"
    .to_owned();
    let source = Source { name: folder.path().join("job.toml").display().to_string(), text };
    let job = resolve(&source).expect("a tank with a cut corner");
    assert!((job.layout.tank.area() - (0.4 * 0.3 - 0.5 * 0.1 * 0.1)).abs() < 1e-9);
    let lost = Source { text: source.text.replace("inside", "outside"), ..source.clone() };
    let told: Vec<String> =
        resolve(&lost).expect_err("no such id").iter().map(|f| f.message.clone()).collect();
    assert_eq!(
        told,
        ["no outline from `tank.svg`: the drawing has no id `outside`; it has `inside` (1 piece)"]
    );
}
