//! VTK's XML ImageData (`.vti`): one file a frame, cell data raw in the appended section.
//!
//! Source of the format: "VTK File Formats", VTK User's Guide, XML formats, version 1.0 with 64-bit headers.

use crate::store::Scene;
use slosh::run::Frame;
use std::io::Write;

/// The cells of one frame. `oil` is the share of a cell's open part that is full (0 to 1, Float32); `open` is the
/// share of the cell that is open (UInt8, 0 is metal, 255 all open). Lengths in metres, pan frame.
pub fn vti(scene: &Scene, frame: &Frame) -> Vec<u8> {
    let [nx, ny, nz] = scene.n;
    let [x, y, z] = scene.origin;
    let h = scene.cell;
    let extent = format!("0 {nx} 0 {ny} 0 {nz}");
    let [gx, gy, gz] = frame.gravity;
    let oil_bytes = 4 * frame.fill.len() as u64;
    let second = 8 + oil_bytes;
    let head = format!(
        r#"<?xml version="1.0"?>
<VTKFile type="ImageData" version="1.0" byte_order="LittleEndian" header_type="UInt64">
  <ImageData WholeExtent="{extent}" Origin="{x} {y} {z}" Spacing="{h} {h} {h}">
    <FieldData>
      <DataArray type="Float64" Name="TimeValue" NumberOfTuples="1" format="ascii">{time}</DataArray>
      <DataArray type="Float64" Name="gravity" NumberOfComponents="3" NumberOfTuples="1" format="ascii">{gx} {gy} {gz}</DataArray>
    </FieldData>
    <Piece Extent="{extent}">
      <PointData/>
      <CellData Scalars="oil">
        <DataArray type="Float32" Name="oil" format="appended" offset="0"/>
        <DataArray type="UInt8" Name="open" format="appended" offset="{second}"/>
      </CellData>
    </Piece>
  </ImageData>
  <AppendedData encoding="raw">
   _"#,
        time = frame.time
    );
    let mut out = head.into_bytes();
    out.extend(oil_bytes.to_le_bytes());
    for fill in &frame.fill {
        out.extend((f32::from(*fill) / 255.0).to_le_bytes());
    }
    out.extend((scene.open.len() as u64).to_le_bytes());
    out.extend(&scene.open);
    write!(out, "\n  </AppendedData>\n</VTKFile>\n").expect("memory can be written to");
    out
}
