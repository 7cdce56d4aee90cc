//! Field and outlines for visualization programs that read the open XML formats of VTK: `.vti`
//! holds the bath on an even lattice, `.vtu` the stretches of the outlines.
//!
//! Coordinates are metres, units stand in the names of the arrays. Numbers are little-endian and
//! in base64, each array behind its length in bytes as one unsigned 64-bit number, as the file
//! format describes it ("VTK File Formats", The VTK User's Guide, Kitware; from memory).

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::Context;
use super::field_lattice::FieldLattice;

/// The bath on the lattice of `field.csv`: potential and current density, `in_bath` 1 where there
/// is bath and 0 inside bodies and outside the tank, where the values are not a number.
pub fn field_vti(context: &Context) -> Vec<u8> {
    let lattice = FieldLattice::of(context);
    let step = lattice.step_mm * 1e-3;
    let [columns, rows] = lattice.size.map(|n| n.saturating_sub(1));
    let [x, y] = lattice.first.map(|n| n as f64 * step);
    let known = |of: &dyn Fn(&solver::FieldPoint) -> f64| -> Vec<f64> {
        lattice.values.iter().map(|v| v.as_ref().map_or(f64::NAN, of)).collect()
    };
    let vectors: Vec<f64> = lattice
        .values
        .iter()
        .flat_map(|v| v.map_or([f64::NAN; 3], |v| [v.current_a_m2[0], v.current_a_m2[1], 0.0]))
        .collect();
    let inside: Vec<u8> = lattice.values.iter().map(|v| u8::from(v.is_some())).collect();
    let extent = format!("0 {columns} 0 {rows} 0 0");
    let mut text = opening("ImageData");
    // writing to a string cannot fail, here and below
    let _ = writeln!(
        text,
        "<ImageData WholeExtent=\"{extent}\" Origin=\"{x} {y} 0\" Spacing=\"{step} {step} {step}\">"
    );
    let _ = writeln!(text, "<Piece Extent=\"{extent}\">\n<PointData Scalars=\"potential_V\">");
    doubles(&mut text, "potential_V", 1, &known(&|v| v.potential_v));
    doubles(&mut text, "current_density_A_m2", 3, &vectors);
    doubles(
        &mut text,
        "current_density_magnitude_A_m2",
        1,
        &known(&|v| v.current_a_m2[0].hypot(v.current_a_m2[1])),
    );
    array(&mut text, "UInt8", "in_bath", 1, &inside);
    text.push_str("</PointData>\n</Piece>\n</ImageData>\n</VTKFile>\n");
    text.into_bytes()
}

/// The outlines: a line for each stretch of wetted metal, with all that `surface.csv` says of it.
/// `body` counts bodies from 0 in the order of the job; `significant` is 1, 0, or -1 where nothing
/// is asked for; thickness is not a number where there is none.
pub fn surface_vtu(context: &Context) -> Vec<u8> {
    let (mut points, mut columns) = (Vec::new(), Columns::default());
    for (index, body) in context.solution.bodies.iter().enumerate() {
        let thickness = context.deposit_on(index);
        let significant = context.significant_on(index);
        for (row, stretch) in body.stretches.iter().enumerate() {
            // a short straight line, half its length to either side of the middle; along the
            // outline the bath lies to the right
            let along = [-stretch.normal[1], stretch.normal[0]];
            for side in [-0.5, 0.5] {
                let by = side * stretch.length_m;
                points.extend([stretch.at.x + by * along[0], stretch.at.y + by * along[1], 0.0]);
            }
            let metal = |of: &Vec<f64>| of.get(row).copied().unwrap_or(f64::NAN);
            columns.density.push(stretch.current_density_a_m2);
            columns.uncertainty.push(stretch.uncertainty_a_m2);
            columns.potential.push(stretch.potential_v);
            columns.overpotential.push(stretch.overpotential_v);
            columns.area.push(stretch.area_m2);
            columns.thickness.push(thickness.map_or(f64::NAN, |d| metal(&d.thickness_m)));
            columns.body.push(index as i32);
            let mark = significant.and_then(|s| s.get(row)).map_or(-1, |s| i32::from(*s));
            columns.significant.push(mark);
        }
    }
    let cells = columns.body.len();
    let mut text = opening("UnstructuredGrid");
    let _ = writeln!(
        text,
        "<UnstructuredGrid>\n<Piece NumberOfPoints=\"{}\" NumberOfCells=\"{cells}\">\n<Points>",
        2 * cells
    );
    doubles(&mut text, "points_m", 3, &points);
    text.push_str("</Points>\n<Cells>\n");
    longs(&mut text, "connectivity", 0..2 * cells as i64);
    longs(&mut text, "offsets", (1..=cells as i64).map(|k| 2 * k));
    // type 3 is a line
    array(&mut text, "UInt8", "types", 1, &vec![3u8; cells]);
    text.push_str("</Cells>\n<CellData Scalars=\"current_density_A_m2\">\n");
    columns.write(&mut text);
    text.push_str("</CellData>\n</Piece>\n</UnstructuredGrid>\n</VTKFile>\n");
    text.into_bytes()
}

#[derive(Default)]
struct Columns {
    density: Vec<f64>,
    uncertainty: Vec<f64>,
    potential: Vec<f64>,
    overpotential: Vec<f64>,
    area: Vec<f64>,
    thickness: Vec<f64>,
    body: Vec<i32>,
    significant: Vec<i32>,
}

impl Columns {
    fn write(&self, text: &mut String) {
        doubles(text, "current_density_A_m2", 1, &self.density);
        doubles(text, "current_density_uncertainty_A_m2", 1, &self.uncertainty);
        doubles(text, "potential_V", 1, &self.potential);
        doubles(text, "overpotential_V", 1, &self.overpotential);
        doubles(text, "area_m2", 1, &self.area);
        doubles(text, "thickness_m", 1, &self.thickness);
        ints(text, "body", &self.body);
        ints(text, "significant", &self.significant);
    }
}

fn opening(kind: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?>\n<VTKFile type=\"{kind}\" version=\"1.0\" \
         byte_order=\"LittleEndian\" header_type=\"UInt64\">\n"
    )
}

fn doubles(text: &mut String, name: &str, components: usize, values: &[f64]) {
    let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_le_bytes()).collect();
    array(text, "Float64", name, components, &bytes);
}

fn longs(text: &mut String, name: &str, values: impl Iterator<Item = i64>) {
    let bytes: Vec<u8> = values.flat_map(i64::to_le_bytes).collect();
    array(text, "Int64", name, 1, &bytes);
}

fn ints(text: &mut String, name: &str, values: &[i32]) {
    let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_le_bytes()).collect();
    array(text, "Int32", name, 1, &bytes);
}

fn array(text: &mut String, kind: &str, name: &str, components: usize, bytes: &[u8]) {
    let mut block = (bytes.len() as u64).to_le_bytes().to_vec();
    block.extend_from_slice(bytes);
    let _ = writeln!(
        text,
        "<DataArray type=\"{kind}\" Name=\"{name}\" NumberOfComponents=\"{components}\" \
         format=\"binary\">{}</DataArray>",
        STANDARD.encode(&block)
    );
}

#[cfg(test)]
mod tests {
    use shapes::{Outline, Point};
    use solver::Role;

    use super::*;
    use crate::output::mock::{body, solved};

    fn mock() -> crate::output::mock::Mock {
        let rect = |x, y, w, h| Outline::rect(Point::new(x, y), (w, h), 0.0).expect("a rectangle");
        let bodies = vec![
            body("plate", Role::Part, rect(0.05, 0.03, 0.01, 0.02)),
            body("anode", Role::Anode, rect(0.01, 0.03, 0.004, 0.05)),
        ];
        solved("plate", rect(0.04, 0.03, 0.08, 0.06), bodies, 200.0)
    }

    /// The bytes of an array, after its length, which must be right.
    fn bytes(file: &[u8], name: &str) -> Vec<u8> {
        let text = std::str::from_utf8(file).expect("text");
        let from = text.find(&format!("Name=\"{name}\"")).expect("the array");
        let open = from + text[from..].find('>').expect("its start") + 1;
        let close = open + text[open..].find('<').expect("its end");
        let block = STANDARD.decode(&text[open..close]).expect("base64");
        let length = u64::from_le_bytes(block[..8].try_into().expect("eight bytes"));
        assert_eq!(length as usize, block.len() - 8);
        block[8..].to_vec()
    }

    fn numbers(file: &[u8], name: &str) -> Vec<f64> {
        let each = |b: &[u8]| f64::from_le_bytes(b.try_into().expect("eight bytes"));
        bytes(file, name).chunks_exact(8).map(each).collect()
    }

    #[test]
    fn the_lattice_holds_the_field() {
        let mock = mock();
        let context = mock.context();
        let file = field_vti(&context);
        let lattice = FieldLattice::of(&context);
        let [columns, rows] = lattice.size;
        let extent = format!("Extent=\"0 {} 0 {} 0 0\"", columns - 1, rows - 1);
        assert!(String::from_utf8_lossy(&file).contains(&extent));
        let (volts, amps) = (numbers(&file, "potential_V"), numbers(&file, "current_density_A_m2"));
        let inside = bytes(&file, "in_bath");
        assert_eq!(
            (volts.len(), amps.len(), inside.len()),
            (columns * rows, 3 * columns * rows, columns * rows)
        );
        for (k, on) in inside.iter().enumerate() {
            let [x, y] = lattice.at_mm(k).map(|mm| mm * 1e-3);
            match mock.solution.field.at(Point::new(x, y)) {
                None => assert!(*on == 0 && volts[k].is_nan()),
                Some(v) => {
                    assert_eq!((*on, volts[k]), (1, v.potential_v));
                    assert_eq!(amps[3 * k..3 * k + 2], v.current_a_m2);
                }
            }
        }
        assert!(inside.contains(&0) && inside.contains(&1));
    }

    #[test]
    fn the_outlines_hold_every_stretch_once_and_close() {
        let mock = mock();
        let file = surface_vtu(&mock.context());
        let stretches: Vec<_> = mock.solution.bodies.iter().flat_map(|b| &b.stretches).collect();
        let density = numbers(&file, "current_density_A_m2");
        assert_eq!(density, stretches.iter().map(|s| s.current_density_a_m2).collect::<Vec<_>>());
        let ends = numbers(&file, "points_m");
        assert_eq!(ends.len(), 6 * stretches.len());
        // rectangles: each line ends where the next one of its body begins
        let first = mock.solution.bodies[0].stretches.len();
        for k in 0..first - 1 {
            let (end, next) = (&ends[6 * k + 3..6 * k + 5], &ends[6 * k + 6..6 * k + 8]);
            let gap = (end[0] - next[0]).hypot(end[1] - next[1]);
            assert!(gap < 1e-9, "{k}: {gap}");
        }
    }
}
