//! Files that lie, bombs, and random damage: refused or read, never followed, and always soon.

mod common;

use common::*;
use std::io::Write;
use std::time::{Duration, Instant};
use sumpwright_solid::part::{Stated, understand};
use sumpwright_solid::{Asked, Fault, Surface, Unit, read};

fn asked() -> Asked {
    Asked {
        unit: Some(Unit::Millimetre),
        ..Asked::default()
    }
}

/// Refused, and soon.
fn refused(bytes: impl Into<Vec<u8>>) -> Fault {
    let start = Instant::now();
    let fault = read(bytes.into(), &asked()).unwrap_err().fault;
    let taken = start.elapsed();
    assert!(taken < Duration::from_secs(20), "{taken:?}: {fault}");
    assert!(!fault.mend.is_empty());
    fault
}

fn deflated(bytes: &[u8]) -> (u16, Vec<u8>) {
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(bytes).unwrap();
    (8, encoder.finish().unwrap())
}

fn stored(bytes: &[u8]) -> (u16, Vec<u8>) {
    (0, bytes.to_vec())
}

fn model(resources: &str, build: &str) -> Vec<u8> {
    threemf(threemf_model("millimeter", resources, build))
}

#[test]
fn counts_that_lie_are_held_against_the_length_of_the_file() {
    let mut stl = stl_binary(&block([0.; 3], [300., 200., 100.]), 1.0);
    stl[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    let fault = refused(stl);
    assert!(
        fault
            .what
            .contains("684 bytes, 12 facets, but its facet count of 4294967295 asks for 214748364834"),
        "{fault}"
    );
    // A billion corners, announced in words that are no OBJ.
    assert_eq!(
        refused(&b"element vertex 1000000000\nv 1 2 3\n"[..]).id,
        "solid-unreadable"
    );
}

#[test]
fn numbers_that_are_none_are_refused_in_every_format() {
    for number in ["nan", "NaN", "inf", "-infinity", "1e300", "1e999"] {
        let text = format!("v 0 0 0\nv {number} 0 0\nv 0 1 0\nf 1 2 3\n");
        assert_eq!(refused(text).id, "solid-not-a-number", "{number}");
        let text = format!(
            "solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 {number}\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n"
        );
        assert_eq!(refused(text).id, "solid-not-a-number", "{number}");
        let mesh = format!(
            "<object id=\"1\"><mesh><vertices><vertex x=\"{number}\" y=\"0\" z=\"0\"/></vertices></mesh></object>"
        );
        assert_eq!(
            refused(model(&mesh, "<item objectid=\"1\"/>")).id,
            "solid-not-a-number",
            "{number}"
        );
    }
    for value in [f32::NAN, f32::INFINITY, f32::MAX] {
        let mut stl = stl_binary(&block([0.; 3], [300., 200., 100.]), 1.0);
        stl[96..100].copy_from_slice(&value.to_le_bytes());
        assert_eq!(refused(stl).id, "solid-not-a-number", "{value}");
    }
    // A transform may not carry a corner off either.
    let object = format!(
        "<object id=\"1\">{}</object>",
        threemf_mesh(&block([0.; 3], [300., 200., 100.]), 1.0)
    );
    let far = refused(model(
        &object,
        "<item objectid=\"1\" transform=\"9e8 0 0 0 1 0 0 0 1 0 0 0\"/>",
    ));
    assert_eq!(far.id, "solid-not-a-number", "{far}");
}

#[test]
fn a_zip_bomb_is_stopped_at_its_ratio() {
    // A gigabyte of blanks before the model, packed a thousandfold; made in pieces, for the test's own sake.
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::best());
    for _ in 0..1024 {
        encoder.write_all(&[b' '; 1 << 20]).unwrap();
    }
    let bomb = encoder.finish().unwrap();
    assert!(bomb.len() < 2 << 20);
    let parts = vec![
        ("_rels/.rels", relations()),
        ("3D/3dmodel.model", b"<model/>".to_vec()),
    ];
    let packed = package(parts, |bytes| {
        if bytes.starts_with(b"<model") {
            (8, bomb.clone())
        } else {
            stored(bytes)
        }
    });
    let fault = refused(packed);
    assert_eq!(fault.id, "solid-package");
    assert!(fault.what.contains("goes on after"), "{fault}");
}

#[test]
fn components_in_a_circle_too_deep_or_past_counting_are_refused() {
    let mesh = threemf_mesh(&block([0.; 3], [300., 200., 100.]), 1.0);
    let circle = "<object id=\"1\"><components><component objectid=\"2\"/></components></object>\
                  <object id=\"2\"><components><component objectid=\"1\"/></components></object>";
    assert!(
        refused(model(circle, "<item objectid=\"1\"/>"))
            .what
            .contains("in a circle")
    );
    let mut deep = format!("<object id=\"1\">{mesh}</object>");
    for id in 2..40 {
        deep += &format!(
            "<object id=\"{id}\"><components><component objectid=\"{}\"/></components></object>",
            id - 1
        );
    }
    assert!(
        refused(model(&deep, "<item objectid=\"39\"/>"))
            .what
            .contains("more than 16 deep")
    );
    // Ten of ten of ten ...: 12 x 10^14 facets from a few lines.
    let mut many = format!("<object id=\"1\">{mesh}</object>");
    for id in 2..16 {
        let ten = format!("<component objectid=\"{}\"/>", id - 1).repeat(10);
        many += &format!("<object id=\"{id}\"><components>{ten}</components></object>");
    }
    assert_eq!(
        refused(model(&many, "<item objectid=\"15\"/>")).id,
        "solid-too-large"
    );
    assert!(
        refused(model("", "<item objectid=\"7\"/>"))
            .what
            .contains("object 7 is used but not described")
    );
}

#[test]
fn xml_that_grows_nests_or_never_ends_is_refused() {
    let whole = |model: String| threemf(model.into_bytes());
    let bomb =
        "<?xml version=\"1.0\"?><!DOCTYPE m [<!ENTITY a \"&b;&b;\"><!ENTITY b \"&a;\">]><model>&a;</model>";
    assert!(refused(whole(bomb.into())).what.contains("document type"));
    assert!(
        refused(whole("<model>".to_owned() + &"<x>".repeat(100_000)))
            .what
            .contains("nested more than 64 deep")
    );
    let long = format!("<model a=\"{}\"/>", "x".repeat(1 << 20));
    assert!(refused(whole(long)).what.contains("longer than 65,536 bytes"));
    assert!(
        refused(whole("<model><!-- never closed ".into()))
            .what
            .contains("cut off")
    );
    assert!(refused(whole("<model a='".into())).what.contains("cut off"));
    assert!(refused(whole("</model>".into())).what.contains("never began"));
    assert!(refused(whole(String::new())).what.contains("no model"));
    let wanted = "<model requiredextensions=\"b\" xmlns:b=\"http://example.org/beams\"><resources/></model>";
    assert!(
        refused(whole(wanted.into()))
            .what
            .contains("http://example.org/beams")
    );
}

#[test]
fn packages_that_lie_are_refused() {
    let sound = threemf_of(&block([0.; 3], [300., 200., 100.]), "millimeter", 1.0);
    let end = sound.len() - 22;
    let mut away = sound.clone();
    away[end + 16..end + 20].copy_from_slice(&0xffff_fff0u32.to_le_bytes());
    assert_eq!(refused(away).id, "solid-package");
    let mut crowd = sound.clone();
    crowd[end + 10..end + 12].copy_from_slice(&60_000u16.to_le_bytes());
    assert!(refused(crowd).what.contains("60000 parts"));
    let mut spoilt = sound.clone();
    let at = spoilt.windows(6).position(|w| w == b"v1=\"0\"").unwrap();
    spoilt[at + 4] = b'1';
    assert!(refused(spoilt).what.contains("checksum"));
    for (at, value, words) in [(8, 99, "method 99"), (6, 1, "password")] {
        let mut odd = sound.clone();
        // In the directory, the fields stand two bytes later.
        let mut from = 0;
        while let Some(entry) = odd[from..].windows(4).position(|w| w == b"PK\x01\x02") {
            odd[from + entry + 2 + at] = value;
            from += entry + 4;
        }
        assert!(refused(odd).what.contains(words));
    }
    let twice = package(vec![("a", vec![]), ("A", vec![])], stored);
    assert!(refused(twice).what.contains("twice"));
    let plain = package(vec![("part.stl", vec![1, 2, 3])], stored);
    assert!(refused(plain).what.contains("no 3MF package"));
    assert_eq!(refused(&b"PK\x03\x04"[..]).id, "solid-package");
}

#[test]
fn indices_and_polygons_out_of_bounds_are_refused() {
    let corners = "v 0 0 0\nv 300 0 0\nv 0 200 0\nv 0 0 100\n";
    for face in [
        "f 1 2 5",
        "f 0 1 2",
        "f 1 2 -5",
        "f 1 2 99999999999999999999",
        "f 1 2 -9223372036854775808",
        "f 1/x 2",
        "f",
    ] {
        assert_eq!(
            refused(format!("{corners}{face}\n")).id,
            "solid-unreadable",
            "{face}"
        );
    }
    let wide = format!("{corners}f{}\n", " 1 2 3".repeat(50_000));
    assert!(refused(wide).what.contains("more than 10000 corners"));
    let object = "<object id=\"1\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/></vertices>\
                  <triangles><triangle v1=\"0\" v2=\"0\" v3=\"4000000000\"/></triangles></mesh></object>";
    assert!(
        refused(model(object, "<item objectid=\"1\"/>"))
            .what
            .contains("names corner 4000000000, but there are 1")
    );
}

/// A small generator of our own, so that the damage is the same in every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n.max(1)
    }

    fn damage(&mut self, bytes: &mut Vec<u8>) {
        for _ in 0..=self.below(4) {
            let at = self.below(bytes.len());
            match self.below(7) {
                0 => bytes[at] ^= 1 << self.below(8),
                1 => bytes[at] = self.below(256) as u8,
                2 => bytes.truncate(at.max(1)),
                3 => {
                    let to = (at + self.below(200)).min(bytes.len());
                    bytes.drain(at..to);
                }
                4 => {
                    let to = (at + self.below(200)).min(bytes.len());
                    let copy = bytes[at..to].to_vec();
                    let into = self.below(bytes.len());
                    bytes.splice(into..into, copy);
                }
                5 => {
                    // A corner of one facet into another, digits into digits: damage that still reads.
                    let (from, count) = (self.below(bytes.len()), 4 + self.below(12));
                    for k in 0..count {
                        if from + k < bytes.len() && at + k < bytes.len() {
                            bytes[at + k] = bytes[from + k];
                        }
                    }
                }
                _ => {
                    if let Some(digit) = bytes[at..].iter().position(u8::is_ascii_digit) {
                        bytes[at + digit] = b'0' + self.below(10) as u8;
                    }
                }
            }
            if bytes.is_empty() {
                bytes.push(b'v');
            }
        }
    }
}

/// Every edge runs once each way: what a surface promises.
fn assert_closed(surface: &Surface) {
    let mut sides = std::collections::HashSet::new();
    for t in &surface.mesh().triangles {
        for i in 0..3 {
            assert!(sides.insert((t[i], t[(i + 1) % 3])), "a side runs twice");
        }
    }
    assert!(
        sides.iter().all(|(a, b)| sides.contains(&(*b, *a))),
        "an edge is open"
    );
    assert!(surface.volume() > 0.0 && surface.volume().is_finite());
}

#[test]
fn damaged_files_are_refused_or_closed_and_never_panic() {
    let (cavity, _) = cavity();
    let part = pan_part().mesh;
    let seeds = [
        stl_binary(&cavity, 1.0),
        stl_text(&block([0.; 3], [300., 200., 100.]), 1.0),
        obj(&cavity, 1.0),
        threemf_of(&cavity, "millimeter", 1.0),
        package(
            vec![
                ("_rels/.rels", relations()),
                (
                    "3D/3dmodel.model",
                    threemf_model(
                        "millimeter",
                        &format!("<object id=\"1\">{}</object>", threemf_mesh(&cavity, 1.0)),
                        "<item objectid=\"1\"/>",
                    ),
                ),
            ],
            deflated,
        ),
        obj(&part, 1.0),
        stl_binary(&part, 1.0),
    ];
    let mut dice = Dice(20261126);
    let (mut sound, mut parts, mut refused) = (0, 0, 0);
    for seed in &seeds {
        for _ in 0..250 {
            let mut bytes = seed.clone();
            dice.damage(&mut bytes);
            let asked = Asked {
                unit: (dice.below(2) == 0).then_some(Unit::Millimetre),
                ..Asked::default()
            };
            match read(bytes, &asked) {
                Ok(surface) => {
                    assert_closed(&surface);
                    sound += 1;
                    if let Ok(part) = understand(&surface, &Stated::default()) {
                        assert!(part.volume > 0.0 && part.volume.is_finite());
                        parts += 1;
                    }
                }
                Err(r) => {
                    assert!(!r.fault.what.is_empty() && !r.fault.mend.is_empty());
                    refused += 1;
                }
            }
        }
    }
    // The damage is neither always fatal nor always harmless, or this would try nothing.
    assert!(
        sound > 100 && parts > 20 && refused > 300,
        "{sound} sound, {parts} parts, {refused} refused"
    );
}
