//! Jobs whose outlines come from drawing files.

use std::fs;
use std::path::Path;

use super::{Resolved, load, resolve};

/// A plate of 60 × 40 mm with a hole, as loose lines of a DXF in inches, and a note.
const PLATE: &str = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
    0\nLINE\n8\ncut\n10\n0\n20\n0\n11\n2.36220472\n21\n0\n\
    0\nLINE\n8\ncut\n10\n2.36220472\n20\n1.57480315\n11\n2.36220472\n21\n0\n\
    0\nLINE\n8\ncut\n10\n2.36220472\n20\n1.57480315\n11\n0\n21\n1.57480315\n\
    0\nLINE\n8\ncut\n10\n0\n20\n0\n11\n0\n21\n1.57480315\n\
    0\nCIRCLE\n8\ncut\n10\n1\n20\n0.8\n40\n0.2\n\
    0\nTEXT\n8\nnotes\n10\n0\n20\n0\n40\n1\n1\nplate\n\
    0\nCIRCLE\n8\nholes\n10\n9\n20\n9\n40\n0.2\n\
    0\nENDSEC\n0\nEOF\n";

fn job(folder: &Path, file: &str) -> Result<Resolved, String> {
    let text = format!(
        "title = \"t\"\nunit = \"mm\"\ntank = {{ size = [400, 200], depth = 100 }}\n\
         bath = {{ use = \"watts-nickel\" }}\nsupply = {{ current = \"3 A\" }}\n\
         [[part]]\nname = \"plate\"\nfile = {file}\nmove = [60, 50]\n\
         [[anode]]\nname = \"slab\"\nrect = {{ at = [380, 100], size = [10, 100] }}\n"
    );
    let path = folder.join("job.toml");
    fs::write(&path, text).expect("writable");
    let source = load(&path.display().to_string()).expect("readable");
    resolve(&source).map_err(|faults| {
        let all: Vec<String> = faults.iter().map(|fault| fault.render(&source, false)).collect();
        all.join("\n").replace(&folder.display().to_string(), "")
    })
}

#[test]
fn a_drawing_beside_the_job_becomes_the_outline_it_shows() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("plate.dxf"), PLATE).expect("writable");
    let job = job(folder.path(), "{ name = \"plate.dxf\", layer = \"cut\" }").expect("a plate");
    let outline = &job.layout.bodies[0].outline;
    // 60 mm × 40 mm less a hole of 0.2 in radius, moved
    let area = 0.06 * 0.04 - std::f64::consts::PI * 0.00508f64.powi(2);
    assert!((outline.area() / area - 1.0).abs() < 1e-6, "{}", outline.area());
    assert!((outline.bounds().x0 - 0.06).abs() < 1e-9 && outline.loops().len() == 2);
}

#[test]
fn a_drawing_without_a_unit_is_in_that_of_the_job_and_scale_rules() {
    let folder = tempfile::tempdir().expect("a folder");
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 100'><circle id='bar' cx='50' cy='50' r='10'/></svg>";
    fs::write(folder.path().join("bar.svg"), svg).expect("writable");
    let radius = |file: &str| {
        let job = job(folder.path(), file).expect("a bar");
        0.5 * job.layout.bodies[0].outline.bounds().width()
    };
    assert!((radius("{ name = \"bar.svg\", id = \"bar\" }") - 0.01).abs() < 1e-12);
    assert!((radius("{ name = \"bar.svg\", scale = 1.5 }") - 0.015).abs() < 1e-12);
}

#[test]
fn what_is_wrong_with_a_drawing_is_told_at_its_place_in_the_job() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("plate.dxf"), PLATE).expect("writable");
    fs::write(folder.path().join("cut.dxf"), &PLATE[..PLATE.len() / 2]).expect("writable");
    let cases = [
        "{ name = \"plate.dxf\" }",
        "{ name = \"plate.dxf\", layer = \"cutt\" }",
        "{ name = \"plate.dxf\", id = \"cut\" }",
        "{ name = \"plate.dxf\", layer = \"cut\", scale = -1 }",
        "{ name = \"plaet.dxf\", layer = \"cut\" }",
        "{ name = \"plate.png\" }",
        "{ name = \"cut.dxf\", layer = \"cut\" }",
        "{ layer = \"cut\" }",
    ];
    let told = cases.map(|file| job(folder.path(), file).expect_err(file));
    insta::assert_snapshot!(told.join("\n\n"));
}
