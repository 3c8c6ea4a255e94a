//! Cells that cannot see the pan, and pans that do not fit into memory: stopped with the place, the numbers and the
//! mend before anything is computed or written. Each case through the real program.

mod common;

use common::{Answer, Folder, PAN};

/// Runs a command on a design and wants exit code 2, each of `words` in the message, and nothing written.
fn refused(name: &str, design: &str, arguments: &[&str], words: &[&str]) -> Answer {
    let folder = Folder::new(name);
    folder.write("pan.toml", design);
    let answer = folder.run(arguments);
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    for word in words {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
    assert!(
        !folder.path("pan-results").exists(),
        "nothing may be written on wrong input"
    );
    answer
}

/// The line of the design on which `text` stands.
fn line(design: &str, text: &str) -> String {
    let at = design
        .lines()
        .position(|l| l.contains(text))
        .expect("the text is there");
    format!("pan.toml:{},", at + 1)
}

#[test]
fn cells_larger_than_the_gap_under_the_mouth_are_refused_with_place_and_mend() {
    for command in ["check", "slosh"] {
        let words = [
            "cells of 20.0 mm",
            "are larger than the 14.0 mm under the mouth",
            &line(PAN, "mouth ="),
            "pickup",
            "mend: state at most --cell \"14 mm\"",
        ];
        refused(
            &format!("gap-{command}"),
            PAN,
            &[command, "pan.toml", "--cell", "20 mm"],
            &words,
        );
    }
}

#[test]
fn cells_larger_than_a_door_or_the_space_between_plates_are_all_said_at_once() {
    let design = PAN
        .replace("low = [\"60 mm\", \"-95 mm\"]", "low = [\"60 mm\", \"-67 mm\"]")
        .replace(
            "[[door]]",
            "[[plate]]\nname = \"second wall\"\nwall = [[\"28 mm\", \"0 mm\"], [\"28 mm\", \"100 mm\"]]\n\
             z = [\"-100 mm\", \"-70 mm\"]\nthickness = \"1.5 mm\"\n[[door]]",
        );
    let words = [
        "larger than the 7.0 mm of door \"flap\"",
        "larger than the 6.5 mm between plates \"wall\" and \"second wall\"",
        "door \"flap\"",
        "plate \"second wall\"",
        "--cell \"6.5 mm\"",
    ];
    let answer = refused("door", &design, &["check", "pan.toml", "--cell", "10 mm"], &words);
    assert!(
        !answer.err.contains("mouth"),
        "10 mm see the mouth:\n{}",
        answer.err
    );
    assert!(
        answer
            .err
            .contains(&line(&design, "low = [\"60 mm\", \"-67 mm\"]")),
        "{}",
        answer.err
    );
}

#[test]
fn without_a_stated_size_the_cell_is_no_larger_than_the_tightest_place() {
    let folder = Folder::new("tight");
    // 12 mm between the walls; unbound, the cells of this pan would be about 8 mm.
    folder.write("pan.toml", PAN.replace("-86 mm", "-94.5 mm"));
    let answer = folder.run(&["slosh", "pan.toml", "--to", "0.02"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(
        answer.out.contains("5.50 mm")
            && answer
                .out
                .contains("none may be larger than the 5.5 mm under the mouth"),
        "{}",
        answer.out
    );
}

#[test]
fn a_pan_that_does_not_fit_into_memory_is_refused_with_the_numbers() {
    let design = PAN
        .replace("[\"-150 mm\", \"150 mm\"]", "[\"-2000 mm\", \"2000 mm\"]")
        .replace("[\"-100 mm\", \"100 mm\"]", "[\"-1000 mm\", \"1000 mm\"]")
        .replace("\"3.5 L\"", "\"300 L\"");
    // 4 m x 2 m x 0.18 m in cells of a millimetre: more than a thousand million.
    let answer = refused(
        "memory",
        &design,
        &["check", "pan.toml", "--cell", "1 mm", "--moments", "1", "--brief"],
        &["of memory", "GB", "cells", "mend: state --cell"],
    );
    // The mend holds: what it says fits is not refused for memory.
    let said = answer
        .err
        .split("state --cell \"")
        .nth(1)
        .expect("a size")
        .split('"')
        .next()
        .expect("its end");
    assert!(
        said.trim_end_matches(" mm").parse::<f64>().expect("a number") > 1.0,
        "{said}"
    );
}
