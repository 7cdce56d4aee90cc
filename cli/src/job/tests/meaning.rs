//! What jobs without faults come to.
use super::*;

#[test]
fn a_full_job_becomes_the_layout_it_says() {
    let job = good(
        r#"unit = "in"
[tank]
outline = { polygon = [[0,0],[5,0],[5,2.5],[1.875,2.5]] }
depth = "48.2 mm"
section = "elevation"
[bath]
conductivity = "85 mS/cm"
temperature = "130 degF"
cathode = { law = "butler-volmer", exchange = "1e-3 ASF", alpha_anodic = 0.5, alpha_cathodic = 0.4, limiting = "15 ASD", rest = "-0.26 V" }
anode = { law = "linear", resistance = "2 mV/(A/dm2)" }
window = { max = "60 A/ft2" }
metal = { molar_mass = "58.69 g/mol", density = "8.9 g/cm3", valence = 2 }
efficiency = "95 %"
[[anode]]
name = "a"
disc = { at = [4, 1], radius = 0.25 }
[[part]]
name = "bar"
disc = { at = [2, 1], radius = 0.1 }
move = [0.1, 0]
repeat = { count = 3, step = [0.5, 0] }
[[thief]]
name = "t"
rect = { at = [2, 0.2], size = [1, 0.1] }
offset = "-30 mV"
polarization = { law = "none" }
[[screen]]
name = "bag"
rect = { at = [3.6, 1], size = [0.1, 1.5] }
conductivity = "3 S/m"
[supply]
voltage = "5 V"
[solve]
accuracy = "0.5 %"
"#,
    );
    let layout = &job.layout;
    let names: Vec<&str> = layout.bodies.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["a", "bar-1", "bar-2", "bar-3", "t", "bag"]);
    let centre = |k: usize| layout.bodies[k].outline.bounds().center();
    // 2.1 in and 2.6 in, by the definition of the inch
    assert!(
        (centre(1).x - 2.1 * 0.0254).abs() < 1e-12 && (centre(2).x - 2.6 * 0.0254).abs() < 1e-12
    );
    assert_eq!(layout.depth.si(), 48.2 * 1e-3);
    assert_eq!(layout.conductivity, Conductivity::new(85.0 * (1e-3 / 1e-2)));
    assert!((layout.temperature.to_celsius() - (130.0 - 32.0) / 1.8).abs() < 1e-9);
    assert_eq!(layout.bodies[4].role, Role::Thief { offset: Potential::new(-0.03) });
    assert_eq!(layout.bodies[5].role, Role::Screen { conductivity: Conductivity::new(3.0) });
    assert_eq!(layout.bodies[4].law.kinetics, Kinetics::None);
    let Law { kinetics: Kinetics::Linear { resistance }, .. } = layout.bodies[0].law else {
        panic!("{:?}", layout.bodies[0].law)
    };
    assert!((resistance.si() / AreaResistance::new(2e-5).si() - 1.0).abs() < 1e-12);
    assert_eq!(layout.bodies[1].law.rest, Potential::new(-0.26));
    assert_eq!(layout.bodies[1].law.limiting, Some(CurrentDensity::a_dm2(15.0)));
    assert_eq!(layout.supplies[0].drive, Drive::Voltage(Potential::new(5.0)));
    assert_eq!(job.settings.accuracy, 0.5 * 1e-2);
    let plating = job.plating.expect("a metal is stated");
    assert!((plating.efficiency.at(CurrentDensity::a_dm2(3.0)) - 0.95).abs() < 1e-15);
    assert_eq!(plating.time, None);
}

#[test]
fn transforms_apply_in_their_order() {
    // an L of 20 by 10: mirrored left-right, turned by a quarter, moved by (5, 7)
    let job = good(&with(
        "rect = { at = [300, 200], size = [60, 40] }",
        "polygon = [[300,200],[320,200],[320,202],[302,202],[302,210],[300,210]]\n\
         mirror = \"x\"\nturn = 90\nmove = [5, 7]",
    ));
    let outline = &job.layout.bodies[0].outline;
    let bounds = outline.bounds();
    // centre (310, 205) stays, then moves to (315, 212); 20 x 10 becomes 10 x 20
    let expected = [0.310, 0.202, 0.320, 0.222];
    for (got, want) in [bounds.x0, bounds.y0, bounds.x1, bounds.y1].into_iter().zip(expected) {
        assert!((got - want).abs() < 1e-12, "{bounds:?}");
    }
    // mirrored, the long leg (y = 200..202) keeps its side and the short one is right;
    // after the quarter turn the long leg is right and the short one on top
    let inside = |x: f64, y: f64| outline.contains(shapes::Point::new(x * 1e-3, y * 1e-3));
    assert!(inside(319.0, 205.0) && inside(312.0, 221.0) && !inside(312.0, 205.0));
}

#[test]
fn marks_move_with_the_body() {
    // the L of the test above; its right end, from (320, 200) up to (320, 202), goes by mirror to
    // x = 300, by the turn about (310, 205) to y = 195, by the move to y = 202
    let job = good(&with(
        "rect = { at = [300, 200], size = [60, 40] }",
        "polygon = [[300,200],[320,200],[320,202],[302,202],[302,210],[300,210]]\n\
         mirror = \"x\"\nturn = 90\nmove = [5, 7]\n\
         masked = [{ from = [320, 200], to = [320.1, 202] }]",
    ));
    let body = &job.layout.bodies[0];
    let [mask] = body.masked.as_slice() else { panic!("{:?}", body.masked) };
    assert!((mask.to_m - mask.from_m - 2e-3).abs() < 1e-12);
    let middle = body.outline.loops()[0].point_at(0.5 * (mask.from_m + mask.to_m));
    assert!((middle - shapes::Point::new(0.319, 0.202)).hypot() < 1e-12, "{middle}");
}

#[test]
fn corner_numbers_are_those_of_the_outline_where_it_hangs() {
    for mirror in ["", "mirror = \"x\"\n"] {
        let job = good(&with(
            "name = \"cup\"",
            &format!(
                "name = \"cup\"\n{mirror}not_significant = [{{ from_corner = 4, to_corner = 1 }}]\nrepeat = {{ count = 2, step = [90, 0] }}"
            ),
        ));
        for body in &job.layout.bodies[..2] {
            let curve = &body.outline.loops()[0];
            let corners = curve.corners();
            let [span] = body.significant.except.as_slice() else { panic!("one stretch") };
            let near =
                |s: f64, corner: usize| (curve.point_at(s) - corners[corner].at).hypot() < 1e-12;
            assert!(near(span.from_m, 3) && near(span.to_m, 0), "{span:?}");
            assert!(span.to_m - span.from_m < 0.5 * curve.length());
        }
    }
}

#[test]
fn a_ball_of_20_mm_decides_what_is_significant_unless_the_job_does() {
    let shape = "polygon = [[300,200],[340,200],[340,202],[302,202],[302,240],[300,240]]";
    let ell = with("rect = { at = [300, 200], size = [60, 40] }", shape);
    let at = |job: &Resolved, x: f64, y: f64| {
        let body = &job.layout.bodies[0];
        let (l, s, _) = body.outline.nearest(shapes::Point::new(1e-3 * x, 1e-3 * y));
        body.is_significant(l, s)
    };
    // 10 mm from the nook at (302, 202) on either side
    let places = [(311.9, 202.0), (312.1, 202.0), (302.0, 211.9), (302.0, 212.1), (300.0, 205.0)];
    let of = |text: &str| {
        let job = good(text);
        places.map(|(x, y)| at(&job, x, y))
    };
    assert_eq!(of(&ell), [false, true, false, true, true]);
    let small = format!("{ell}\n[want]\nsignificant_ball = \"4 mm\"\n");
    assert_eq!(of(&small), [true; 5]);
    let off = format!("{ell}\n[want]\nsignificant_ball = \"0 mm\"\n");
    assert_eq!(good(&off).layout.bodies[0].significant.only, None);
    let marked = ell.replace(
        "name = \"cup\"",
        "name = \"cup\"\nsignificant = [{ from = [340, 202], to = [302, 240] }]\nnot_significant = [{ from = [312, 202], to = [302, 202] }]",
    );
    assert_eq!(of(&marked), [false, true, true, true, false]);
}

#[test]
fn every_value_has_its_source() {
    let job =
        good(&with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nconductivity = \"9 S/m\""));
    let origin = |key: &str| {
        let found = job.provenance.iter().find(|p| p.key == key);
        found.unwrap_or_else(|| panic!("{key} in {:?}", job.provenance)).origin.words()
    };
    assert_eq!(origin("bath.conductivity"), "job file, line 10");
    assert!(origin("bath.cathode.exchange").contains("assumed: from memory of Newman"));
    assert!(origin("bath.efficiency").contains("Rudy"));
    assert!(origin("solve.accuracy").starts_with("default"));
    assert!(job.cautions.iter().any(|c| c.contains("Nickel salts")));
}

/// 8.5 S/m at 55 degC, 2 % for each kelvin: 8.5 · (1 + 0.02 · 5) at 60 degC.
#[test]
fn the_temperature_scales_the_librarys_conductivity() {
    let job =
        good(&with("use = \"watts-nickel\"", "use = \"watts-nickel\"\ntemperature = \"60 degC\""));
    assert!((job.layout.conductivity.si() - 8.5 * 1.1).abs() < 1e-9);
    let own = "use = \"watts-nickel\"\ntemperature = \"60 degC\"\nconductivity = \"8 S/m\"";
    assert_eq!(good(&with("use = \"watts-nickel\"", own)).layout.conductivity.si(), 8.0);
    let other =
        "use = \"watts-nickel\"\ntemperature = \"60 degC\"\nconductivity_per_kelvin = \"1 %\"";
    let job = good(&with("use = \"watts-nickel\"", other));
    assert!((job.layout.conductivity.si() - 8.5 * 1.05).abs() < 1e-9);
}

#[test]
fn a_temperature_at_which_the_bath_does_not_work_is_warned_of() {
    let at = |temperature: &str| {
        let text = format!("use = \"watts-nickel\"\ntemperature = \"{temperature}\"");
        let job = good(&with("use = \"watts-nickel\"", &text));
        job.warnings.iter().map(|w| w.code).collect::<Vec<_>>()
    };
    assert_eq!(at("70 degC"), ["W003"]);
    // 122 and 149 degF are the window's ends, 50 and 65 degC
    assert_eq!(at("122 degF"), Vec::<&str>::new());
    assert_eq!(at("149 degF"), Vec::<&str>::new());
}

#[test]
fn single_values_of_the_library_may_be_replaced() {
    let text = with(
        "use = \"watts-nickel\"",
        "use = \"watts-nickel\"\ncathode = { slope = \"110 mV\" }\nlimiting = \"9 A/dm2\"\nanode_limit = \"5 A/dm2\"\narea_ratio = [1, 3]",
    );
    let job = good(&text);
    let law = &job.layout.bodies[0].law;
    let Kinetics::Tafel { exchange, slope } = law.kinetics else { panic!("{law:?}") };
    assert!((exchange.to_a_dm2() / 1e-4 - 1.0).abs() < 1e-12);
    assert!((slope.to_mv() / 110.0 - 1.0).abs() < 1e-12);
    assert_eq!(law.rest, Potential::new(-0.26));
    let is = |found: Option<CurrentDensity>, a_dm2: f64| {
        found.is_some_and(|i| (i.to_a_dm2() / a_dm2 - 1.0).abs() < 1e-12)
    };
    assert!(is(law.limiting, 9.0) && is(job.bath.anode_limit, 5.0) && is(job.bath.threshold, 0.1));
    assert_eq!(job.bath.area_ratio, Some((1.0, 3.0)));
    assert_eq!(job.bath.anode_kind, Some(AnodeKind::Soluble));
    let keys: Vec<&str> = job.bath.cautions.iter().map(|c| c.key).collect();
    assert_eq!(keys, ["nickel", "high-current", "waste"]);
}

#[test]
fn a_varied_value_stands_at_the_end_of_its_range() {
    let source = source(GOOD);
    let at = |key: &str, end| resolve_at(&source, Some((key, end))).expect("a good job");
    let job = at("bath.cathode.limiting", End::High);
    let limiting = job.layout.bodies[0].law.limiting.expect("the library's");
    assert!((limiting.to_a_dm2() / 25.0 - 1.0).abs() < 1e-12);
    let job = at("bath.conductivity", End::Low);
    assert_eq!(job.layout.conductivity.si(), 6.0);
    let plating = at("bath.efficiency", End::Low).plating.expect("a metal");
    assert!((plating.efficiency.at(CurrentDensity::a_dm2(4.0)) - 0.93).abs() < 1e-12);
    assert_eq!(at("bath.nothing", End::Low).layout.conductivity.si(), 8.5);
}

#[test]
fn copper_in_a_cyanide_bath_is_copper_one() {
    let job = good(
        &with("use = \"watts-nickel\"", "use = \"cyanide-copper-strike\"\nmetal = \"Cu\"")
            .replace("4 A/dm2", "1 A/dm2"),
    );
    assert_eq!(job.plating.map(|p| p.metal.valence), Some(1));
}

#[test]
fn a_mean_outside_the_window_is_a_warning() {
    let text = with("\"4 A/dm2\"", "\"14 A/dm2\"");
    let job = good(&text);
    let shown: Vec<String> = job.warnings.iter().map(|w| w.render(&source(&text), false)).collect();
    insta::assert_snapshot!(shown.join("\n"));
}

#[test]
fn a_designation_sets_the_least_thickness_of_one_bath() {
    let want = |designation: &str, bath: &str| {
        let text = with("watts-nickel", bath);
        good(&format!("{text}\n[want]\ndesignation = \"{designation}\"\n")).want.min_thickness
    };
    let um = |length: Option<solver::quantity::Length>| length.map(|l| l.to_um().round());
    assert_eq!(um(want("Fe/Zn12/A", "alkaline-zinc")), Some(12.0));
    // ASTM B633: service class 4 is 25 um
    assert_eq!(um(want("SC4", "alkaline-zinc")), Some(25.0));
    assert_eq!(um(want("Cu/Ni10b", "watts-nickel")), Some(10.0));
    let more = with("watts-nickel", "alkaline-zinc");
    let more =
        good(&format!("{more}\n[want]\ndesignation = \"Fe/Zn8\"\nmin_thickness = \"9 um\"\n"));
    assert_eq!(um(more.want.min_thickness), Some(9.0));
    let wrong = format!("{GOOD}\n[want]\ndesignation = \"Fe/Ni20b Cr r\"\n");
    insta::assert_snapshot!("a_designation_of_two_layers_for_one_bath", bad(&wrong));
}

#[test]
fn screens_are_as_open_as_they_say() {
    let text = with(
        "[supply]",
        "[[screen]]\nname = \"bag\"\nrect = { at = [80, 200], size = [2, 300] }\nopen_fraction = 0.49\n\
         [[screen]]\nname = \"sheet\"\nrect = { at = [100, 200], size = [4, 300] }\nopen_fraction = \"30 %\"\nhole = 5\n\n[supply]",
    );
    let job = good(&text);
    let bath = job.layout.conductivity.si();
    let inside = |name: &str| {
        let body = job.layout.bodies.iter().find(|body| body.name == name).expect("it is there");
        match body.role {
            Role::Screen { conductivity } => conductivity.si(),
            other => panic!("{other:?}"),
        }
    };
    // cloth: 0.49^1.5 = 0.343
    assert!((inside("bag") / (0.343 * bath) - 1.0).abs() < 1e-12);
    // between a lone hole of 5 mm in 4 mm, 0.3 × 4 / (4 + π 5/4), and the channels alone
    let lone = 0.3 * 4.0 / (4.0 + std::f64::consts::PI * 1.25);
    let share = inside("sheet") / bath;
    assert!(share > lone && share < 0.3, "{share}");
}
