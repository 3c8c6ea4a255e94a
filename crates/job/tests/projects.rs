//! Several files: bases, meshes, logs, and what may be read at all.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sumpwright_job::{Design, Fault, Sources, read, read_from, starter};

fn memory(files: &[(&str, &[u8])]) -> Sources {
    let files = files
        .iter()
        .map(|(name, bytes)| (PathBuf::from(name), bytes.to_vec()));
    Sources::Memory(files.collect::<BTreeMap<_, _>>())
}

/// Reads `first` of the files; the starter stands beside them as pan.toml.
fn project(files: &[(&str, &str)]) -> Result<Design, Vec<Fault>> {
    let mut all: Vec<(&str, &[u8])> = vec![("pan.toml", starter()[0].text.as_bytes())];
    all.extend(files.iter().map(|(name, text)| (*name, text.as_bytes())));
    read_from(Path::new(files[0].0), &memory(&all))
}

#[track_caller]
fn says(result: Result<Design, Vec<Fault>>, wanted: &str) {
    let faults = result.expect_err("the project was read");
    let got = faults
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("\n");
    assert_eq!(got, wanted, "\n--- got\n{got}\n--- wanted\n{wanted}");
}

#[track_caller]
fn sound(result: Result<Design, Vec<Fault>>) -> Design {
    result.unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

const HEAD: &str = "format = \"2026-11\"\nname = \"revision\"\nbase = \"pan.toml\"\n";

fn revision(rest: &str) -> String {
    format!("{HEAD}{rest}")
}

#[test]
fn a_revision_states_only_what_changes() {
    let text = revision(
        "[fill]\nvolume = \"4.5 L\"\n\
         [[plate]]\nname = \"rear wall\"\nz = [\"-130 mm\", \"-60 mm\"]\n\
         [[plate]]\nname = \"roof\"\nshelf = { x = [\"-60 mm\", \"60 mm\"], y = [\"-110 mm\", \"110 mm\"] }\nz = \"-60 mm\"\nperforation = 0.2\n\
         [[door]]\nname = \"front door\"\nremove = true\n",
    );
    let design = sound(project(&[("two.toml", &text)]));
    let base = sound(project(&[("one.toml", starter()[0].text)]));
    assert_eq!(design.name, "revision");
    assert_eq!(design.bases, 1);
    assert!((design.fill - 4.5e-3).abs() < 1e-15);
    let names: Vec<&str> = design.pan.plates.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["front wall", "rear wall", "roof"]);
    assert_eq!(design.pan.plates[0], base.pan.plates[0]);
    assert_eq!(design.pan.plates[1].openings, base.pan.plates[1].openings);
    assert_ne!(design.pan.plates[1].shape, base.pan.plates[1].shape);
    assert!(design.pan.doors.is_empty());
    assert_eq!(design.circuit, base.circuit);
    let fill = design.inputs.iter().find(|i| i.key == "fill.volume").unwrap();
    assert_eq!(
        format!("{:?}", fill.origin),
        "Written(Place { file: \"two.toml\", line: 5 })"
    );
    let mouth = design.inputs.iter().find(|i| i.key == "pickup.mouth").unwrap();
    assert!(
        format!("{:?}", mouth.origin).contains("\"pan.toml\""),
        "{:?}",
        mouth.origin
    );
}

#[test]
fn a_revision_may_describe_a_part_in_another_way() {
    let text = revision(
        "[oil]\nviscosity = [[\"40 C\", \"160 mm2/s\"], [\"100 C\", \"23 mm2/s\"]]\n\
         [[pocket]]\nname = \"sump\"\n\
         outline = [[\"-150 mm\", \"-110 mm\"], [\"150 mm\", \"-110 mm\"], { to = [\"150 mm\", \"110 mm\"], through = [\"160 mm\", \"0 mm\"] }, [\"-150 mm\", \"110 mm\"]]\n",
    );
    let design = sound(project(&[("two.toml", &text)]));
    assert_eq!(design.oil.spec.basis, "two viscosities of the design file");
    // A 10 mm bow over a 220 mm chord: r = (110² + 10²)/20 = 610 mm, half angle asin(110/610).
    let (r, half) = (0.61f64, (0.11f64 / 0.61).asin());
    let bow = r * r * (half - half.sin() * half.cos());
    // A round of radius r cuts r² (cot(θ/2) − (π − θ)/2) off a corner of angle θ: two of 90 degrees, and two
    // where the bow leaves its chord at the half angle. The bow is taken as straight over the round.
    let cut =
        |angle: f64| 0.01f64.powi(2) * (1.0 / (angle / 2.0).tan() - (std::f64::consts::PI - angle) / 2.0);
    let quarter = std::f64::consts::FRAC_PI_2;
    let wanted = 0.3 * 0.22 + bow - 2.0 * cut(quarter) - 2.0 * cut(quarter + half);
    let got = design.pan.capacity() / 0.13;
    assert!(
        (got - wanted).abs() < 1e-6,
        "got {got} m², wanted about {wanted} m²"
    );
}

#[test]
fn a_fault_in_a_base_is_placed_in_the_base() {
    let base = starter()[0].text.replace("\"38 mm\"", "\"38 L\"");
    let line = 1 + base.lines().position(|l| l.contains("38 L")).unwrap();
    says(
        project(&[
            ("two.toml", &revision("").replace("pan.toml", "one.toml")),
            ("one.toml", &base),
        ]),
        &format!(
            "error: \"38 L\": \"L\" makes it a volume; a length is due\n  at one.toml:{line}, pickup.diameter\n  mend: write it for instance as \"35 mm\" or \"1-3/8 in\""
        ),
    );
}

#[test]
fn a_base_that_includes_itself_names_the_chain() {
    says(
        project(&[("two.toml", "base = \"two.toml\"")]),
        "error: the design is its own base: two.toml -> two.toml\n  at two.toml:1, base\n  mend: let the first design of the chain stand without a base",
    );
    says(
        project(&[
            ("a.toml", "\nbase = \"b.toml\""),
            ("b.toml", "base = \"c.toml\""),
            ("c.toml", "base = \"a.toml\""),
        ]),
        "error: the design is its own base: a.toml -> b.toml -> c.toml -> a.toml\n  at c.toml:1, base\n  mend: let the first design of the chain stand without a base",
    );
}

#[test]
fn names_that_leave_the_project_folder_are_refused() {
    for (name, what) in [
        (
            "../other/pan.toml",
            "\"../other/pan.toml\" leaves the project folder",
        ),
        (
            "sub/../../pan.toml",
            "\"sub/../../pan.toml\" leaves the project folder",
        ),
        ("/etc/passwd", "\"/etc/passwd\" is not a relative path"),
        (
            "//server/share/pan.toml",
            "\"//server/share/pan.toml\" is not a relative path",
        ),
        ("C:pan.toml", "\"C:pan.toml\" is not a plain relative path"),
        (
            "http://host/pan.toml",
            "\"http://host/pan.toml\" is not a plain relative path",
        ),
        (
            "\\\\\\\\server\\\\pan.toml",
            "\"\\\\server\\pan.toml\" is not a plain relative path",
        ),
    ] {
        says(
            project(&[("shop/two.toml", &format!("base = \"{name}\""))]),
            &format!(
                "error: {what}\n  at shop/two.toml:1, base\n  mend: put the file into the folder of the design or below it, and name it from there with /"
            ),
        );
    }
}

#[test]
fn a_base_in_a_folder_below_names_its_own_base_from_there() {
    let files: [(&str, &str); 3] = [
        (
            "two.toml",
            "format = \"2026-11\"\nname = \"two\"\nbase = \"old/one.toml\"",
        ),
        ("old/one.toml", "base = \"../old/./nought.toml\""),
        ("old/nought.toml", starter()[0].text),
    ];
    let design = sound(project(&files));
    let read: Vec<&Path> = design.files.iter().map(|f| f.path.as_path()).collect();
    assert_eq!(
        read,
        [
            Path::new("two.toml"),
            Path::new("old/one.toml"),
            Path::new("old/nought.toml")
        ]
    );
}

#[test]
fn a_missing_base_and_a_base_that_is_no_name_are_said() {
    says(
        project(&[("two.toml", "base = \"none.toml\"")]),
        "error: there is no file none.toml\n  at two.toml:1, base\n  mend: check the spelling of its name; it is looked for beside the file that names it",
    );
    says(
        project(&[("two.toml", "base = 2")]),
        "error: a number stands where the name of a design file is due\n  at two.toml:1, base\n  mend: write it for instance as base = \"first.toml\"",
    );
}

#[test]
fn removing_what_is_not_there_is_a_fault() {
    says(
        project(&[(
            "two.toml",
            &revision("[[plate]]\nname = \"frnt wall\"\nremove = true"),
        )]),
        "error: the base has no plate named \"frnt wall\" to remove\n  at two.toml:4, plate \"frnt wall\".remove\n  mend: did you mean \"front wall\"?",
    );
    let text = starter()[0]
        .text
        .replace("name = \"rear wall\"", "name = \"rear wall\"\nremove = true");
    let line = text.lines().position(|l| l == "remove = true").unwrap() - 1;
    says(
        project(&[("one.toml", &text)]),
        &format!(
            "error: there is no base to remove the plate \"rear wall\" from\n  at one.toml:{line}, plate \"rear wall\".remove\n  mend: leave this part out"
        ),
    );
}

/// A box as ASCII STL, millimetres; `facets` of its twelve are written.
fn stl(low: [f64; 3], high: [f64; 3], facets: usize) -> String {
    let corner = |i: usize| [0, 1, 2].map(|a| if i >> a & 1 == 1 { high[a] } else { low[a] });
    let faces: [[usize; 3]; 12] = [
        [0, 2, 1],
        [1, 2, 3],
        [4, 5, 6],
        [5, 7, 6],
        [0, 1, 4],
        [1, 5, 4],
        [2, 6, 3],
        [3, 6, 7],
        [0, 4, 2],
        [2, 4, 6],
        [1, 3, 5],
        [3, 7, 5],
    ];
    let mut text = "solid cavity\n".to_owned();
    for face in &faces[..facets] {
        text += "facet normal 0 0 0\nouter loop\n";
        for i in face {
            let [x, y, z] = corner(*i);
            text += &format!("vertex {x} {y} {z}\n");
        }
        text += "endloop\nendfacet\n";
    }
    text + "endsolid cavity\n"
}

/// The same box as binary STL whose head begins like a text.
fn binary(text: &str) -> Vec<u8> {
    let mesh = stl_io::read_stl(&mut std::io::Cursor::new(text.as_bytes().to_vec())).unwrap();
    let mut bytes = Vec::new();
    stl_io::write_stl(&mut bytes, mesh.into_triangle_vec().iter()).unwrap();
    bytes[..5].copy_from_slice(b"solid");
    bytes
}

fn meshed(stl: &[u8], unit: &str) -> Result<Design, Vec<Fault>> {
    let text = revision(&format!("[mesh]\nfile = \"cavity.stl\"\nunit = \"{unit}\"\n"));
    let files: [(&str, &[u8]); 3] = [
        ("pan.toml", starter()[0].text.as_bytes()),
        ("two.toml", text.as_bytes()),
        ("cavity.stl", stl),
    ];
    read_from(Path::new("two.toml"), &memory(&files))
}

#[test]
fn a_closed_mesh_stands_in_for_the_pockets_of_the_base() {
    let text = stl([-150.0, -110.0, -130.0], [150.0, 110.0, 100.0], 12);
    for bytes in [text.clone().into_bytes(), binary(&text)] {
        let design = sound(meshed(&bytes, "mm"));
        let got = design.pan.capacity();
        assert!((got / (0.3 * 0.22 * 0.13) - 1.0).abs() < 1e-6, "got {got} m³");
        assert_eq!(design.files.last().unwrap().path, Path::new("cavity.stl"));
    }
}

#[test]
fn an_open_mesh_says_where() {
    let text = stl([-150.0, -110.0, -130.0], [150.0, 110.0, 100.0], 11);
    let faults = meshed(text.as_bytes(), "mm").unwrap_err();
    let fault = faults[0].to_string();
    assert!(
        fault.starts_with(
            "error: the mesh is open: 3 edges have a facet on one side only; a hole 318 mm across"
        ),
        "{fault}"
    );
    assert!(fault.contains("\n  at two.toml:5, mesh.file\n"), "{fault}");
    assert_eq!((faults.len(), faults[0].id), (1, "solid-open"));
}

#[test]
fn files_that_are_no_mesh_are_said() {
    let whole = binary(&stl([0.0; 3], [1.0; 3], 12));
    for (bytes, what) in [
        (
            b"not a mesh".to_vec(),
            "the mesh file is text, but neither STL nor OBJ".to_owned(),
        ),
        (
            vec![0; 20],
            "the mesh file is too short to be an STL file".to_owned(),
        ),
        (
            [b"x".repeat(80), vec![12, 0, 0, 0], vec![0; 100]].concat(),
            "the mesh file holds 184 bytes, 2 facets, but its facet count of 12 asks for 684".to_owned(),
        ),
    ] {
        let faults = meshed(&bytes, "mm").unwrap_err();
        assert_eq!((faults[0].id, &faults[0].what), ("solid-format", &what));
    }
    // Cut short, a binary file that begins like a text is neither.
    let faults = meshed(&whole[..whole.len() - 7], "mm").unwrap_err();
    assert_eq!(faults[0].id, "solid-format", "{}", faults[0]);
}

/// A folder of its own under the system's temporary one, gone when the test ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sumpwright-job-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[track_caller]
fn refused(path: &Path, id: &str, line: usize) -> Fault {
    let faults = read(path).expect_err("the file was read");
    assert_eq!(
        (faults.len(), faults[0].id, faults[0].place.line),
        (1, id, line),
        "{}",
        faults[0]
    );
    faults.into_iter().next().unwrap()
}

#[test]
fn files_that_cannot_be_designs_are_refused() {
    let folder = Folder::new("refused");
    refused(&folder.0.join("none.toml"), "no-such-file", 0);
    refused(&folder.0, "not-a-file", 0);
    refused(
        &folder.write("latin.toml", b"# ok\nname = \"M\xfcller\"\n"),
        "not-text",
        2,
    );
    let large = refused(
        &folder.write("large.toml", vec![b'#'; 2 << 20]),
        "file-too-large",
        0,
    );
    assert!(large.what.ends_with("holds 2.1 MB"), "{large}");
    refused(&folder.write("empty.csv", [0u8, 1, 2]), "not-toml", 1);
}

#[test]
fn a_byte_order_mark_is_no_fault() {
    let folder = Folder::new("mark");
    sound(read(
        &folder.write("pan.toml", format!("\u{feff}{}", starter()[0].text)),
    ));
}

#[cfg(unix)]
#[test]
fn a_link_that_leaves_the_project_folder_is_refused() {
    let (inside, outside) = (Folder::new("inside"), Folder::new("outside"));
    let target = outside.write("pan.toml", starter()[0].text);
    std::os::unix::fs::symlink(&target, inside.0.join("pan.toml")).unwrap();
    let fault = refused(&inside.write("two.toml", revision("")), "outside-project", 3);
    assert!(
        fault.what.ends_with("is a link that leaves the project folder"),
        "{fault}"
    );
    // The user himself may name a link.
    sound(read(&inside.0.join("pan.toml")));
}

#[test]
fn a_log_that_is_not_there_is_said_when_it_is_asked_for() {
    let design = sound(project(&[(
        "two.toml",
        &revision("[drive]\nlog = \"none.csv\"\n"),
    )]));
    let faults = design.drives[0].drive().unwrap_err();
    assert_eq!(
        faults[0].to_string(),
        "error: there is no file none.csv\n  at two.toml:5, drive.log\n  mend: check the spelling of its name; it is looked for beside the file that names it"
    );
}

/// Gears come with a final drive, a tyre and a shift; another way of saying the engine's speed drops them all.
#[test]
fn a_revision_that_states_another_gearing_drops_the_gears_with_what_goes_with_them() {
    let gears = revision(
        "[car]\nlateral = \"1 g\"\nbraking = \"1 g\"\ndriving = \"0.4 g\"\ntop_speed = \"180 km/h\"\n\
         gears = [3.0, 2.0, 1.4]\nfinal_drive = 3.9\ntyre_radius = \"0.3 m\"\n",
    );
    let speed =
        "format = \"2026-11\"\nname = \"third\"\nbase = \"gears.toml\"\n[car]\nengine_speed = \"6000 rpm\"\n";
    let files = [("third.toml", speed), ("gears.toml", gears.as_str())];
    let design = sound(project(&files));
    let gearing = design.car.expect("a car is stated").gearing;
    assert!(matches!(gearing, drive::Gearing::Constant(_)), "{gearing:?}");
}
