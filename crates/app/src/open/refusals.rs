//! Why a question has no answer, in the words of the wire: paths are told from the folder that is served.

use crate::failure::{Complaint, Failure};
use serve::wire::Fault;
use serve::workshop::{Refused, Wrong};
use std::path::{MAIN_SEPARATOR, Path};

/// One thing that is wrong.
pub fn refused(
    wrong: Wrong,
    what: impl Into<String>,
    place: impl Into<String>,
    mend: impl Into<String>,
) -> Refused {
    let fault = Fault {
        what: what.into(),
        place: place.into(),
        key: None,
        mend: mend.into(),
    };
    Refused {
        wrong,
        faults: vec![fault],
    }
}

/// Something that is not there.
pub fn missing(what: impl Into<String>, place: &str) -> Refused {
    let mend = "look whether it was moved or renamed, and open the page anew";
    refused(Wrong::Missing, what, place, mend)
}

/// Faults of a design in `folder`.
pub fn faults(folder: &Path, faults: Vec<job::Fault>) -> Refused {
    let gone = |f: &job::Fault| f.id == "no-such-file" && f.key.is_empty();
    let wrong = if faults.iter().any(gone) {
        Wrong::Missing
    } else {
        Wrong::Input
    };
    let fault = |f: job::Fault| Fault {
        what: from_folder(folder, &f.what),
        place: from_folder(folder, &f.place.to_string()),
        key: Some(f.key).filter(|key| !key.is_empty()),
        mend: from_folder(folder, &f.mend),
    };
    Refused {
        wrong,
        faults: faults.into_iter().map(fault).collect(),
    }
}

/// What a command would have said.
pub fn failure(folder: &Path, failure: Failure) -> Refused {
    let (wrong, complaints) = match failure {
        Failure::Input(complaints) => (Wrong::Input, complaints),
        Failure::Computing(complaint) => (Wrong::Computing, vec![complaint]),
        Failure::Stopped => {
            return refused(Wrong::Computing, "it was stopped", "", "ask again");
        }
    };
    let fault = |complaint| told(folder, complaint);
    Refused {
        wrong,
        faults: complaints.into_iter().map(fault).collect(),
    }
}

/// A complaint of a command over files in `folder`.
pub fn told(folder: &Path, Complaint { what, place, mend }: Complaint) -> Fault {
    let place = from_folder(folder, &place);
    // Commands write "file:line, key".
    let (place, key) = match place.split_once(", ") {
        Some((file, key)) => (file.to_owned(), Some(key.to_owned())),
        None => (place, None),
    };
    Fault {
        what: from_folder(folder, &what),
        place,
        key,
        mend: from_folder(folder, &mend),
    }
}

/// Words with the folder's own path left out of all paths in them.
pub fn from_folder(folder: &Path, words: &str) -> String {
    words.replace(&format!("{}{MAIN_SEPARATOR}", folder.display()), "")
}
