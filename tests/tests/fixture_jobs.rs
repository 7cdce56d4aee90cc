//! Every fixture's job file is read by the tool and means the same layout.
use std::path::PathBuf;

fn fixtures(folder: &str, ext: &str) -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut all: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("fixtures")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|x| x == ext))
        .collect();
    all.sort();
    all
}

#[test]
fn each_fixture_has_its_job_file() {
    for folder in ["fixtures", "fixtures/held_out"] {
        let stems = |ext| -> Vec<_> {
            fixtures(folder, ext).iter().map(|p| p.with_extension("")).collect()
        };
        assert!(stems("json").len() >= 12);
        assert_eq!(stems("json"), stems("toml"));
    }
}

/// Relative difference of two numbers that came through text and units.
fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

#[test]
fn job_files_mean_the_same_layouts() {
    let ours = checks::load_fixtures().into_iter().map(|r| ("fixtures", r));
    let held_out = checks::load_held_out().into_iter().map(|r| ("fixtures/held_out", r));
    for (folder, reference) in ours.chain(held_out) {
        let name = &reference.name;
        let path = format!("{}/{folder}/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let source = throwmap::job::load(&path).unwrap_or_else(|e| panic!("{e:?}"));
        let job = throwmap::job::resolve(&source).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        let (ours, theirs) = (&reference.layout, &job.layout);
        assert!(close(ours.depth.si(), theirs.depth.si()), "{name}");
        assert!(close(ours.conductivity.si(), theirs.conductivity.si()), "{name}");
        assert!(close(ours.temperature.si(), theirs.temperature.si()), "{name}");
        assert!(close(ours.tank.area(), theirs.tank.area()), "{name}");
        assert_eq!(ours.supplies, theirs.supplies, "{name}");
        assert_eq!(ours.bodies.len(), theirs.bodies.len(), "{name}");
        for body in &ours.bodies {
            let same = theirs.bodies.iter().find(|b| b.name == body.name).expect(name);
            assert_eq!(body.role, same.role, "{name} {}", body.name);
            assert!(close(body.outline.area(), same.outline.area()), "{name} {}", body.name);
            let (a, b) = (body.outline.bounds().center(), same.outline.bounds().center());
            assert!(a.distance(b) < 1e-9, "{name} {}", body.name);
            if body.role.is_metal() {
                assert_eq!(body.law, same.law, "{name} {}", body.name);
            }
        }
    }
}
