//! Mesh files through the real program: what is understood, drawn, written, and refused.

extern crate solid as sumpwright_solid;

mod common;
#[path = "../../solid/tests/common/mod.rs"]
mod shapes;

use common::{Answer, Folder, PAN};
use serde_json::Value;
use shapes::*;

fn json(folder: &Folder, arguments: &[&str]) -> Value {
    let answer = folder.run(&[&["solid", "--json"], arguments].concat());
    assert_eq!(answer.code, 0, "{}", answer.err);
    serde_json::from_str(&answer.out).expect("one JSON object")
}

/// Runs `solid` and wants exit code 2, all of `words` in the message, and a way to mend it.
fn refused(folder: &Folder, arguments: &[&str], words: &[&str]) -> Answer {
    let answer = folder.run(&[&["solid"], arguments].concat());
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    for word in words {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
    let err = &answer.err;
    assert!(
        err.contains("error: ") && err.contains("mend: ") && !err.contains("panicked"),
        "{err}"
    );
    answer
}

#[test]
fn a_pan_part_comes_to_the_same_oil_in_four_formats_and_two_units() {
    let folder = Folder::new("solid-formats");
    let pan = pan_part();
    let inch = 1.0 / 25.4;
    for (name, bytes) in [
        ("a.stl", stl_binary(&pan.mesh, 1.0)),
        ("b.stl", stl_text(&pan.mesh, inch)),
        ("c.obj", obj(&pan.mesh, inch)),
        ("d.3mf", threemf_of(&pan.mesh, "inch", inch)),
        ("e.3mf", threemf_of(&pan.mesh, "millimeter", 1.0)),
        ("told-by-its-bytes.txt", obj(&pan.mesh, 1.0)),
    ] {
        folder.write(name, bytes);
        let found = json(&folder, &[name]);
        assert_eq!(found["shows"], "part", "{name}");
        let oil = found["part"]["oil"].as_f64().unwrap();
        assert!((oil / (pan.oil * 1e-9) - 1.0).abs() < 1e-6, "{name}: {oil}");
        let metal = found["volume"].as_f64().unwrap();
        assert!((metal / (pan.metal * 1e-9) - 1.0).abs() < 1e-6, "{name}: {metal}");
        assert_eq!(found["part"]["holes"].as_array().unwrap().len(), 16, "{name}");
        assert_eq!(found["part"]["openings"].as_array().unwrap().len(), 2, "{name}");
    }
}

#[test]
fn what_was_understood_is_said_in_words_and_drawn() {
    let folder = Folder::new("solid-words");
    folder.write("pan.stl", stl_binary(&pan_part().mesh, 1.0));
    let answer = folder.run(&["solid", "pan.stl", "--picture", "pan.svg", "--write", "oil.stl"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "pan.stl, binary STL, ",
        "mm, for so it has the size of a pan; state the unit if that is wrong",
        "the pan as a part with walls, seen from its flange round a hollow",
        "up to the flange",
        "8.50 mm   through",
        "6.00 mm   blind",
        "a hole through the wall, 14 mm across at (80.0, -40.0, -110.0) mm, was closed",
        "the engine's front is taken to be +x of the file",
        "nothing: the mesh is closed and sound",
        "shows = \"part\"",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let svg = std::fs::read_to_string(folder.path("pan.svg")).unwrap();
    for words in [
        "from above",
        "cut open along y = -40.0 mm",
        "closed, 14.0 mm across",
        ">16<",
    ] {
        assert!(svg.contains(words), "`{words}` is missing in the picture");
    }
    // What was written is the oil's space, and reads back as such.
    let oil = json(&folder, &["oil.stl"]);
    assert_eq!(oil["shows"], "cavity");
    assert!((oil["volume"].as_f64().unwrap() / (pan_part().oil * 1e-9) - 1.0).abs() < 1e-6);
}

#[test]
fn the_lines_that_it_prints_make_a_design_that_holds_the_oil() {
    let folder = Folder::new("solid-design");
    let pan = pan_part();
    folder.write("part.obj", obj(&pan.mesh, 1.0));
    let answer = folder.run(&["solid", "part.obj", "--up", "+z", "--opening", "20 mm"]);
    let lines: Vec<&str> = answer
        .out
        .lines()
        .skip_while(|l| !l.contains("[mesh]"))
        .map(str::trim)
        .collect();
    let pockets = PAN.find("[[pocket]]").unwrap();
    let plates = PAN.find("[[plate]]").unwrap();
    let block = "[[pocket]]\nname = \"crankcase\"\nside = \"block\"\n\
                 rectangle = { x = [\"-140 mm\", \"140 mm\"], y = [\"-85 mm\", \"85 mm\"] }\nz = [\"0 mm\", \"90 mm\"]\n";
    let mesh = lines.join("\n");
    // The part has a post where the test's pickup would be.
    let tail = PAN[plates..].replace(
        "[\"-70 mm\", \"0 mm\", \"-86 mm\"]",
        "[\"-110 mm\", \"-40 mm\", \"-96 mm\"]",
    );
    folder.write("pan.toml", format!("{}{block}{mesh}\n{tail}", &PAN[..pockets]));
    let answer = folder.run(&["still", "pan.toml", "--json"]);
    assert_eq!(answer.code, 0, "{}\n{mesh}", answer.err);
    let litres = format!("{:.2} L", pan.oil * 1e-6);
    let text = folder.run(&["still", "pan.toml"]).out;
    assert!(text.contains(&litres), "{litres} is missing in:\n{text}");
    // The bench gets the hollow as a solid, the oil that the file held.
    let answer = folder.run(&["shop", "pan.toml", "--out", "bench"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for file in ["bench/body/cavity.stl", "bench/body/cavity.3mf"] {
        let found = json(&folder, &[file, "--shows", "cavity"]);
        assert!(
            (found["volume"].as_f64().unwrap() / (pan.oil * 1e-9) - 1.0).abs() < 1e-6,
            "{file}"
        );
    }
}

#[test]
fn a_part_named_as_a_cavity_is_refused_in_a_design() {
    let folder = Folder::new("solid-not-cavity");
    folder.write("part.stl", stl_binary(&pan_part().mesh, 1.0));
    let (pockets, plates) = (PAN.find("[[pocket]]").unwrap(), PAN.find("[[plate]]").unwrap());
    let design = |mesh: &str| {
        format!(
            "{}[mesh]\nfile = \"part.stl\"\n{mesh}\n{}",
            &PAN[..pockets],
            &PAN[plates..]
        )
    };
    for (mesh, words) in [
        ("", ["looks like the pan itself", "mesh.file", "shows = \"part\""]),
        (
            "shows = \"part\"\nup = \"-z\"",
            ["no flat ring facing -z", "660", "mesh.file"],
        ),
        (
            "shows = \"part\"\nup = \"upward\"",
            ["\"upward\" is no direction", "mesh.up", "+x, -x"],
        ),
        (
            "shows = \"part\"\norigin = \"hole 40\"",
            [
                "there is no hole 40: the flange has 16",
                "mesh.file",
                "sumpwright solid",
            ],
        ),
        (
            "shows = \"part\"\nfront = [\"hole 1\", \"hole 1\"]",
            ["are not two holes", "mesh.front", "hole 9"],
        ),
        (
            "shows = \"part\"\nopening = \"10 mm\"",
            [
                "an opening 14 mm across",
                "(80.0, -40.0, -110.0) mm",
                "`opening` wider",
            ],
        ),
        (
            "up = \"+z\"",
            [
                "up is stated, but the mesh is the oil's space itself",
                "mesh.up",
                "shows = \"part\"",
            ],
        ),
        (
            "unit = \"in\"",
            [
                "1/25.4 times that is",
                "millimetres taken for inches",
                "mesh.file",
            ],
        ),
        (
            "unit = \"ell\"",
            ["\"ell\" is not known as mesh.unit", "pan.toml:", "um"],
        ),
    ] {
        folder.write("pan.toml", design(mesh));
        let answer = folder.check(&[]);
        assert_eq!(answer.code, 2, "{mesh}\n{}", answer.err);
        for word in words.iter().filter(|w| **w != "660") {
            assert!(
                answer.err.contains(word),
                "{mesh}: `{word}` is missing in:\n{}",
                answer.err
            );
        }
    }
    // A pocket of the pan's own beside a part.
    let pocket = "[[pocket]]\nname = \"sump\"\nrectangle = { x = [\"-10 mm\", \"10 mm\"], y = [\"-10 mm\", \"10 mm\"] }\nz = [\"-50 mm\", \"0 mm\"]\n";
    folder.write("pan.toml", design(&format!("shows = \"part\"\n{pocket}")));
    let answer = folder.check(&[]);
    assert!(
        answer.err.contains("the pan is given by a pocket and by a part"),
        "{}",
        answer.err
    );
}

#[test]
fn files_that_are_no_mesh_say_what_they_are_and_what_to_export() {
    let folder = Folder::new("solid-strangers");
    let step = b"ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n".to_vec();
    for (name, bytes, words) in [
        ("part.stp", step, ["the file is STEP", "export STL, 3MF or OBJ"]),
        ("empty.stl", vec![], ["the mesh file is empty", "export"]),
        (
            "pan.ply",
            b"ply\nformat ascii 1.0\n".to_vec(),
            ["PLY is not read", "export STL"],
        ),
        (
            "pan.glb",
            b"glTF\x02\0\0\0".to_vec(),
            ["glTF is not read", "export STL"],
        ),
        (
            "pan.gz",
            vec![0x1f, 0x8b, 8, 0, 0],
            ["packed file (gzip)", "export"],
        ),
        (
            "pan.dxf",
            b"0\nSECTION\n2\nHEADER\n".to_vec(),
            ["DXF is not read", "export STL"],
        ),
        (
            "pan.svg",
            b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>".to_vec(),
            ["XML or HTML is not read", "export"],
        ),
        (
            "notes.txt",
            b"buy a gasket\n".to_vec(),
            ["neither STL nor OBJ", "export the solid"],
        ),
        (
            "short.stl",
            vec![0; 50],
            ["too short to be an STL file", "export"],
        ),
    ] {
        folder.write(name, bytes);
        refused(&folder, &[name], &[words[0], words[1], name]);
    }
    refused(
        &folder,
        &["nothing.stl"],
        &["there is no file nothing.stl", "check the spelling"],
    );
    refused(&folder, &["."], &["is a folder or a device", "name a plain file"]);
}

#[test]
fn spoilt_files_are_refused_with_line_or_facet() {
    let folder = Folder::new("solid-spoilt");
    let mesh = block([0.; 3], [300., 200., 100.]);
    let text = String::from_utf8(stl_text(&mesh, 1.0)).unwrap();
    let objt = String::from_utf8(obj(&mesh, 1.0)).unwrap();
    let mut lost = stl_binary(&mesh, 1.0);
    lost[84 + 50 * 4 + 12..84 + 50 * 4 + 16].copy_from_slice(&f32::NAN.to_le_bytes());
    let cut = stl_binary(&mesh, 1.0)[..500].to_vec();
    for (name, bytes, words) in [
        (
            "cut.stl",
            cut,
            [
                "holds 500 bytes, 8 facets, but its facet count of 12 asks for 684",
                "cut off",
            ],
        ),
        (
            "nan.stl",
            lost,
            ["no usable place (nan.stl, facet 5)", "lost a number"],
        ),
        (
            "half.stl",
            text.as_bytes()[..700].to_vec(),
            ["half.stl:", "the file is"],
        ),
        (
            "comma.stl",
            text.replacen("3.000000000e2", "3,0e2", 1).into_bytes(),
            [
                "\"3,0e2\" stands where a number is due\n  at comma.stl:",
                "decimal comma",
            ],
        ),
        (
            "word.stl",
            text.replacen("endloop", "endlop", 1).into_bytes(),
            [
                "\"endlop\" stands in the STL text where endloop is due\n  at word.stl:7",
                "spoilt",
            ],
        ),
        (
            "index.obj",
            format!("{objt}f 1 2 99\n").into_bytes(),
            [
                "a face names the corner \"99\", but there are 8 corners before it\n  at index.obj:23",
                "export it again",
            ],
        ),
        (
            "two.obj",
            format!("{objt}f 1 2\n").into_bytes(),
            ["a face has 2 corners\n  at two.obj:23", "three"],
        ),
        (
            "curved.obj",
            format!("{objt}surf 0 1 0 1\n").into_bytes(),
            ["curved surfaces (\"surf\")", "as triangles"],
        ),
        (
            "odd.obj",
            format!("{objt}hello there\n").into_bytes(),
            ["\"hello\" begins a line of the OBJ file", "odd.obj:23"],
        ),
    ] {
        folder.write(name, bytes);
        refused(&folder, &[name], &words);
    }
}

#[test]
fn open_and_crossing_solids_are_refused_with_place_and_picture() {
    let folder = Folder::new("solid-open");
    let mut open = block([0.; 3], [300., 200., 100.]);
    open.triangles
        .retain(|t| !t.iter().all(|c| open.points[*c as usize].z == 100.));
    folder.write("open.obj", obj(&open, 1.0));
    let words = [
        "the mesh is open: 4 edges",
        "a hole 361 mm across around (150.0, 100.0, 100.0) mm",
        "an open top included",
    ];
    let answer = refused(&folder, &["open.obj", "--picture", "where.svg"], &words);
    assert!(
        answer.err.contains("picture of where: where.svg"),
        "{}",
        answer.err
    );
    let svg = std::fs::read_to_string(folder.path("where.svg")).unwrap();
    assert!(svg.contains("hole 1") && svg.contains("rings where it is wrong"));

    let two = together(&[
        block([0.; 3], [300., 200., 100.]),
        block([100., 50., 30.], [200., 150., 200.]),
    ]);
    folder.write("two.obj", obj(&two, 1.0));
    refused(
        &folder,
        &["two.obj"],
        &["around (150.0, 100.0, ", "unite the bodies"],
    );
}

#[test]
fn units_that_cannot_be_known_are_asked() {
    let folder = Folder::new("solid-units");
    folder.write("thirty.stl", stl_binary(&block([0.; 3], [30., 20., 10.]), 1.0));
    refused(
        &folder,
        &["thirty.stl"],
        &[
            "762 mm in inches and 300 mm in centimetres",
            "state the unit that gives the length you measure",
        ],
    );
    refused(
        &folder,
        &["thirty.stl", "--unit", "mm"],
        &["25.4 times that is 762 mm: inches taken for millimetres?"],
    );
    assert_eq!(
        json(&folder, &["thirty.stl", "--unit", "cm"])["unit_known_by"],
        "stated"
    );
    refused(
        &folder,
        &["thirty.stl", "--unit", "furlong"],
        &["\"furlong\" is no known unit", "--unit", "um, mm"],
    );
    folder.write(
        "inch.3mf",
        threemf_of(&block([0.; 3], [13., 8., 4.]), "inch", 1.0),
    );
    refused(
        &folder,
        &["inch.3mf", "--unit", "mm"],
        &["mm is stated, but the 3MF file says in", "leave the unit out"],
    );
}

#[test]
fn options_that_make_no_sense_are_refused() {
    let folder = Folder::new("solid-options");
    folder.write("pan.stl", stl_binary(&pan_part().mesh, 1.0));
    for (arguments, words) in [
        (&["--up", "skyward"][..], ["\"skyward\" is no direction", "--up"]),
        (&["--front", "hole 1", "here"], ["\"here\" is no hole", "--front"]),
        (
            &["--origin", "1 mm", "2 mm"],
            ["a place has three lengths", "--origin"],
        ),
        (
            &["--shows", "cavity", "--up", "+z"],
            ["stated of what is no part", "--shows cavity"],
        ),
        (&["--hole", "3 m"], ["3 m is out of range", "--hole"]),
        (&["--picture", "pan.png"], ["does not end in .svg", "--picture"]),
        (&["--write", "pan.stl"], ["is the file that is read", "--write"]),
    ] {
        refused(&folder, &[&["pan.stl"], arguments].concat(), &words);
    }
}

/// A pan whose flange, bolts and prices are stated.
fn to_be_made(more: &str) -> String {
    format!(
        "{PAN}
[outside]
flange_thickness = \"8 mm\"
flange_width = \"24 mm\"
head_diameter = \"12 mm\"
bolts = [[\"-120 mm\", \"-114 mm\"], [\"120 mm\", \"-114 mm\"], [\"120 mm\", \"114 mm\"], [\"-120 mm\", \"114 mm\"]]
{more}"
    )
}

/// What the shop's folder holds is read again: the body as a part by `solid`, the list by the csv crate.
#[test]
fn the_shop_writes_a_body_a_section_and_a_list_that_read_back() {
    let folder = Folder::new("shop-body");
    folder.write(
        "pan.toml",
        to_be_made("[shop.prices]\ncurrency = \"crowns\"\ncut = \"2 crowns/m\"\n[[shop.buy]]\nname = \"plug, magnetic\"\ncount = 2\nprice = \"7.5 crowns\"\n"),
    );
    let answer = folder.run(&["shop", "pan.toml", "--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let facts: Value = serde_json::from_str(&answer.out).unwrap();
    let bytes = |name: &str| std::fs::read(folder.path("pan-shop").join(name)).unwrap();
    for name in ["body/pan.stl", "body/pan.3mf"] {
        folder.write("again", bytes(name));
        let found = json(&folder, &["again"]);
        assert_eq!(found["shows"], "part");
        assert_eq!(found["part"]["holes"].as_array().unwrap().len(), 4);
        let [metal, oil] = [&found["volume"], &found["part"]["oil"]].map(|v| v.as_f64().unwrap());
        assert!((metal / facts["body"]["volume"].as_f64().unwrap() - 1.0).abs() < 1e-5);
        assert!((oil / facts["body"]["cavity"].as_f64().unwrap() - 1.0).abs() < 1e-5);
    }
    let list = bytes("list.csv");
    let mut list = csv::Reader::from_reader(&list[..]);
    assert_eq!(
        list.headers().unwrap().iter().next_back(),
        Some("cost of all [crowns]")
    );
    let rows: Vec<csv::StringRecord> = list.records().map(|r| r.unwrap()).collect();
    let plug = rows.iter().find(|r| &r[0] == "plug, magnetic").unwrap();
    assert_eq!((&plug[1], &plug[10]), ("2", "15.00"));
    let sum: f64 = rows.iter().filter_map(|r| r[10].parse::<f64>().ok()).sum();
    let said = facts["list"]["bought"].as_f64().unwrap() + facts["list"]["work"].as_f64().unwrap();
    assert!((sum - said).abs() < 0.005 * rows.len() as f64, "{sum} {said}");
    let drawing = String::from_utf8(bytes("body/section.svg")).unwrap();
    for words in ["A – A", "B – B", "scale 1:", "z = 0", "4 holes 6.6 through"] {
        assert!(drawing.contains(words), "{words}");
    }
}

#[test]
fn prices_walls_and_holes_that_cannot_be_are_refused_and_nothing_is_written() {
    let folder = Folder::new("shop-wrong");
    for (more, words) in [
        ("[shop.prices]\ncut = 4\n", ["no currency", "shop.prices.cut"]),
        (
            "[shop.prices]\ncut = \"-4 EUR/m\"\n",
            ["below zero", "shop.prices.cut"],
        ),
        (
            "[shop.prices]\nhour = \"40 EUR/kg\"\n",
            ["not a price in EUR/h", "shop.prices.hour"],
        ),
        (
            "[[shop.buy]]\nname = \"tube\"\nprice = \"cheap\"\n",
            ["begin with a number", "price"],
        ),
        (
            "[shop.body]\nwall = \"12 mm\"\n",
            ["stands in the hole of bolt 1", "shop.body.wall"],
        ),
        (
            "[shop.body]\nbolt_hole = \"30 mm\"\n",
            ["meets the cavity", "outside.bolts"],
        ),
    ] {
        folder.write("pan.toml", to_be_made(more));
        let answer = folder.run(&["shop", "pan.toml"]);
        assert_eq!(answer.code, 2, "{more}\n{}", answer.err);
        for word in words.into_iter().chain(["error: ", "mend: ", "pan.toml"]) {
            assert!(
                answer.err.contains(word),
                "`{word}` is missing in:\n{}",
                answer.err
            );
        }
        assert!(!folder.path("pan-shop").exists());
    }
}
