//! A variant saved, or refused.

use super::*;

fn save_ask(house: &House, changes: &[(&str, &str)], file: &str) -> SaveAsk {
    let variant = variant("pan.toml", changes);
    SaveAsk {
        digest: house.shelf.digest("pan.toml").expect("it is there"),
        variant,
        name: "Box, higher".to_owned(),
        file: file.to_owned(),
    }
}

#[test]
fn a_revision_states_what_is_other_and_nothing_else() {
    let folder = Folder::a_box("save");
    let house = folder.house();
    let before = fs::read(folder.0.join("pan.toml")).expect("it is there");
    let changes = [
        ("fill.volume", "\"4.5 L\""),
        ("plate \"front wall\".z[1]", "\"-20 mm\""),
        ("oil.temperature", "\"110 C\""),
        ("limits.least_cover", "\"7 mm\""),
    ];
    let saved = house
        .save(&save_ask(&house, &changes, "higher.toml"))
        .expect("sound");
    assert_eq!(
        saved.text,
        fs::read_to_string(folder.0.join("higher.toml")).expect("written")
    );
    assert!(saved.text.contains("base = \"pan.toml\""), "{}", saved.text);
    assert!(
        saved.text.contains("[limits]\nleast_cover = \"7 mm\""),
        "{}",
        saved.text
    );
    assert!(saved.text.contains("volume = \"4.5 L\""), "{}", saved.text);
    assert!(
        saved.text.contains("z = [\"-110 mm\", \"-20 mm\"]"),
        "{}",
        saved.text
    );
    assert!(
        !saved.text.contains("temperature"),
        "the file says so already: {}",
        saved.text
    );
    assert_eq!(fs::read(folder.0.join("pan.toml")).expect("it is there"), before);
    // The revision is the variant.
    let [a, b] = [variant("pan.toml", &changes), variant("higher.toml", &[])]
        .map(|variant| house.still(&standing(variant)).expect("sound"));
    assert_eq!(a, b);
    let designs = house.project().expect("it is there").designs;
    let own = designs
        .iter()
        .find(|design| design.file == "higher.toml")
        .expect("it is listed");
    assert_eq!(
        (own.name.as_str(), own.base.as_deref()),
        ("Box, higher", Some("pan.toml"))
    );
}

#[test]
fn what_must_not_be_saved_is_refused_and_nothing_is_written() {
    let folder = Folder::a_box("unsaved");
    let house = folder.house();
    let change = [("fill.volume", "\"4.5 L\"")];
    let files = || fs::read_dir(&folder.0).expect("it is there").count();
    let told = |ask: &SaveAsk| {
        let refused = house.save(ask).expect_err("it must not be saved");
        (refused.wrong, refused.faults[0].what.clone())
    };
    assert_eq!(
        told(&save_ask(&house, &change, "pan.toml")).0,
        Wrong::Conflict,
        "it exists"
    );
    assert_eq!(
        told(&save_ask(&house, &[], "b.toml")).0,
        Wrong::Input,
        "nothing is changed"
    );
    let same = [("fill.volume", "\"4.2 L\"")];
    assert_eq!(
        told(&save_ask(&house, &same, "b.toml")).0,
        Wrong::Input,
        "nothing is changed"
    );
    let wrong = [("fill.volume", "\"400 L\"")];
    assert_eq!(
        told(&save_ask(&house, &wrong, "b.toml")).0,
        Wrong::Input,
        "it does not fit"
    );
    for odd in ["../b.toml", "/tmp/b.toml", "b.txt", "", "deep/b.toml"] {
        assert_ne!(told(&save_ask(&house, &change, odd)).0, Wrong::Conflict, "{odd}");
    }
    let nameless = SaveAsk {
        name: " ".to_owned(),
        ..save_ask(&house, &change, "b.toml")
    };
    assert_eq!(told(&nameless).0, Wrong::Input);
    // Written by somebody else meanwhile.
    let ask = save_ask(&house, &change, "b.toml");
    let text = fs::read_to_string(folder.0.join("pan.toml")).expect("it is there");
    folder.write("pan.toml", &text.replace("\"4.2 L\"", "\"4.4 L\""));
    let refused = house.save(&ask).expect_err("it is another");
    assert_eq!(refused.wrong, Wrong::Conflict);
    let said: Vec<&str> = refused.faults.iter().map(|fault| fault.what.as_str()).collect();
    assert!(said.contains(&"pan.toml was written since"), "{said:?}");
    assert!(
        said.iter().any(|said| said.starts_with("fill.volume: 4.4")),
        "{said:?}"
    );
    assert_eq!(files(), 1);
    #[cfg(unix)]
    {
        let outside = Folder::new("unsaved-outside");
        std::os::unix::fs::symlink(&outside.0, folder.0.join("away")).expect("links can be made");
        std::os::unix::fs::symlink(outside.0.join("new.toml"), folder.0.join("new.toml")).expect("links");
        let base_in_away = save_ask(&house, &change, "away/b.toml");
        assert_eq!(told(&base_in_away).0, Wrong::Input);
        // A link to nothing is something of that name.
        assert_eq!(told(&save_ask(&house, &change, "new.toml")).0, Wrong::Conflict);
        assert_eq!(fs::read_dir(&outside.0).expect("it is there").count(), 0);
    }
}
