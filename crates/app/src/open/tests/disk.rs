//! Files that change, break, vanish or lead away.

use super::*;

#[test]
fn a_broken_design_is_told_with_its_line_and_a_lost_folder_plainly() {
    let folder = Folder::a_box("broken");
    let house = folder.house();
    let ask = variant("pan.toml", &[]);
    let before = house.pan(&ask).expect("sound").digest;
    let text = fs::read_to_string(folder.0.join("pan.toml")).expect("it is there");
    folder.write("pan.toml", &text.replace("\"4.2 L\"", "\"4.2 lires\""));
    let refused = house.pan(&ask).expect_err("it is broken");
    let fault = &refused.faults[0];
    assert!(fault.place.starts_with("pan.toml:"), "{fault:?}");
    assert_eq!(fault.key.as_deref(), Some("fill.volume"));
    folder.write("pan.toml", &text);
    assert_eq!(house.pan(&ask).expect("mended").digest, before);
    fs::remove_dir_all(&folder.0).expect("it is ours");
    let refused = house.pan(&ask).expect_err("it is gone");
    assert_eq!(refused.wrong, Wrong::Missing);
    assert!(refused.faults[0].what.contains("folder is gone"), "{refused:?}");
    assert_eq!(house.project().expect_err("it is gone").wrong, Wrong::Missing);
}

#[test]
fn nobody_leaves_the_folder_by_words_or_by_links() {
    let folder = Folder::a_box("links");
    let house = folder.house();
    for odd in [
        "",
        "../pan.toml",
        "/etc/passwd",
        "a/../../b",
        "C:/x.toml",
        "a\\b",
        "./pan.toml\0",
    ] {
        assert_eq!(
            house.pan(&variant(odd, &[])).expect_err("it leads out").wrong,
            Wrong::Input,
            "{odd}"
        );
    }
    assert_eq!(
        house
            .pan(&variant("none.toml", &[]))
            .expect_err("it is not there")
            .wrong,
        Wrong::Missing
    );
    #[cfg(unix)]
    {
        let outside = Folder::a_box("links-outside");
        let link = |to: &Path, name: &str| {
            std::os::unix::fs::symlink(to, folder.0.join(name)).expect("links can be made");
        };
        link(&outside.0.join("pan.toml"), "away.toml");
        link(&outside.0, "away");
        for odd in ["away.toml", "away/pan.toml"] {
            let refused = house.pan(&variant(odd, &[])).expect_err("it leads out");
            assert_eq!(refused.wrong, Wrong::Input, "{odd}");
        }
        let designs = house.project().expect("it is there").designs;
        assert_eq!(designs.len(), 1, "{designs:?}");
    }
}

#[test]
fn who_listens_is_told_of_a_design_that_is_written() {
    let folder = Folder::lane("watch");
    let house = folder.house();
    let events = house.events();
    house.pan(&variant("second.toml", &[])).expect("sound");
    let next = || events.recv_timeout(Duration::from_secs(10)).expect("it is told");
    let text = fs::read_to_string(folder.0.join("first.toml")).expect("it is there");
    folder.write("first.toml", &text.replace("\"112 C\"", "\"113 C\""));
    let Event::Changed { design, digest } = next() else {
        panic!("another event")
    };
    assert_eq!(design, "second.toml", "its base is another");
    assert_eq!(digest, house.shelf.digest("second.toml"));
    fs::remove_file(folder.0.join("second.toml")).expect("it is ours");
    let Event::Changed { digest, .. } = next() else {
        panic!("another event")
    };
    assert_eq!(digest, None);
}
