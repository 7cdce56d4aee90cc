//! An anode in the hollow: a rod at some depth, on the same rectifier or on one of its own.
use crate::layout::{Drive, Role};
use crate::quantity::Current;
use crate::remedy::diagnosis::Reason;
use crate::remedy::edit::{Edit, Form};
use crate::remedy::pocket::Pocket;
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

/// Hollows tried at most.
const POCKETS: usize = 2;
/// Thickest rod that is hung into a part (common practice, no source), m.
const ROD_M: f64 = 0.015;
/// Shallower than this share of its width a hollow needs no rod.
const SHALLOW: f64 = 0.3;

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    thin_pockets(scene).flat_map(|pocket| rods(scene, pocket)).collect()
}

/// Hollows with a thin place in them.
pub(super) fn thin_pockets<'a>(scene: &'a Scene<'a>) -> impl Iterator<Item = &'a Pocket> {
    let thin = |pocket: &&Pocket| {
        let reach = 0.02 * scene.layout.bodies[pocket.body].outline.diagonal();
        pocket.aspect() > SHALLOW
            && scene.diagnosis.thin.iter().any(|spot| {
                let hollow = spot.reasons.iter().any(|r| matches!(r, Reason::Recess { .. }));
                hollow && spot.body == pocket.body && pocket.distance(spot.at) < reach
            })
    };
    scene.diagnosis.pockets.iter().filter(thin).take(POCKETS)
}

fn rods<'a>(scene: &'a Scene<'a>, pocket: &'a Pocket) -> Vec<Proposal<'a>> {
    let half = 0.5 * scene.step();
    let thickest = (0.4 * pocket.width_m).min(ROD_M);
    let radius =
        Dim::new("radius", Measure::Length, (0.06 * pocket.width_m).max(half), thickest, half);
    let depth = match pocket.mouth_m {
        Some(_) => Dim::new(
            "depth behind the mouth",
            Measure::Length,
            -0.3 * pocket.depth_m,
            pocket.depth_m,
            scene.step(),
        ),
        // a bore is open towards the reader; the rod hangs in its middle
        None => Dim::new("from the middle", Measure::Length, 0.0, 0.0, scene.step()),
    };
    let own = Dim::new("share of the current", Measure::Share, 0.02, 0.6, 0.01);
    let (Some(radius), Some(depth), Some(own)) = (radius, depth, own) else { return Vec::new() };
    let Some(like) = scene.anodes().next() else { return Vec::new() };
    let name = scene.name("inside anode");
    let rod = move |depth: f64, radius: f64| {
        let at = scene.whole_point(pocket.mouth + pocket.inward() * depth);
        let form = Form::Disc { at, radius };
        Edit::Add { role: Role::Anode, name: name.clone(), form, like }
    };
    let same = {
        let rod = rod.clone();
        move |x: &[f64]| {
            let [depth, radius] = x else { return None };
            Some(vec![rod(*depth, *radius)])
        }
    };
    let mut out = vec![Proposal {
        kind: Kind::InsideAnode,
        dims: vec![depth, radius],
        build: Box::new(same),
        case: None,
    }];
    let holds_current = matches!(
        scene.layout.supplies.as_slice(),
        [only] if !matches!(only.drive, Drive::Voltage(_))
    );
    if holds_current {
        let (amps, main) = (scene.base.amps, main_name(scene));
        let apart = move |x: &[f64]| {
            let [depth, radius, share] = x else { return None };
            let current = Current::new(rounded(share * amps));
            let name = "inside".to_owned();
            let own = Edit::OwnSupply { name, main: main.clone(), current };
            Some(vec![rod(*depth, *radius), own])
        };
        out.push(Proposal {
            kind: Kind::InsideOwnSupply,
            dims: vec![depth, radius, own],
            build: Box::new(apart),
            case: None,
        });
    }
    out
}

fn main_name(scene: &Scene<'_>) -> String {
    let name = scene.layout.supplies.first().map_or("", |s| s.name.as_str());
    if name == "supply" { "main".to_owned() } else { name.to_owned() }
}

/// Amperes that can be set on a rectifier: two significant digits.
fn rounded(amps: f64) -> f64 {
    let size = libm::pow(10.0, libm::log10(amps.max(1e-9)).floor() - 1.0);
    let whole = (amps / size).round();
    // division by a power of ten is exact to the last place where multiplication is not
    if size < 1.0 { whole / (1.0 / size).round() } else { whole * size.round() }
}
