//! The model inside a 3MF package, any bytes: packed anew for every run, or the checksum would stop nearly all.
#![no_main]

use libfuzzer_sys::fuzz_target;
use solid::{Asked, read};

const RELATIONS: &[u8] = b"<Relationships><Relationship Target=\"/m\" \
    Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";

fuzz_target!(|model: &[u8]| {
    let asked = Asked {
        any_size: true,
        ..Asked::default()
    };
    if let Err(refused) = read(package(model), &asked) {
        assert!(!refused.fault.what.is_empty() && !refused.fault.mend.is_empty());
    }
});

/// Two parts, not packed.
fn package(model: &[u8]) -> Vec<u8> {
    let (mut bytes, mut directory) = (Vec::new(), Vec::new());
    for (name, part) in [("_rels/.rels", RELATIONS), ("m", model)] {
        let at = bytes.len() as u32;
        let mut common = vec![20, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        common.extend(checksum(part).to_le_bytes());
        common.extend((part.len() as u32).to_le_bytes());
        common.extend((part.len() as u32).to_le_bytes());
        common.extend((name.len() as u16).to_le_bytes());
        common.extend([0, 0]);
        bytes.extend([b"PK\x03\x04", &common[..], name.as_bytes(), part].concat());
        directory.extend([b"PK\x01\x02\x14\x00", &common[..], &[0; 10], &at.to_le_bytes(), name.as_bytes()].concat());
    }
    let (at, length) = (bytes.len() as u32, directory.len() as u32);
    bytes.extend(directory);
    bytes.extend(b"PK\x05\x06\0\0\0\0\x02\0\x02\0");
    bytes.extend(length.to_le_bytes());
    bytes.extend(at.to_le_bytes());
    bytes.extend([0, 0]);
    bytes
}

/// CRC-32 as ZIP has it.
fn checksum(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 })
    };
    !bytes.iter().fold(!0, step)
}
