//! The list of a run's `.vti` files with their times, as VTK's XML Collection (`.pvd`).

use std::fmt::Write;

/// `files`: time [s] and name of each.
pub fn collection(files: &[(f64, String)]) -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\"?>\n<VTKFile type=\"Collection\" version=\"1.0\" byte_order=\"LittleEndian\">\n  <Collection>\n",
    );
    for (time, name) in files {
        writeln!(
            text,
            "    <DataSet timestep=\"{time}\" part=\"0\" file=\"{name}\"/>"
        )
        .expect("memory can be written to");
    }
    text + "  </Collection>\n</VTKFile>\n"
}
