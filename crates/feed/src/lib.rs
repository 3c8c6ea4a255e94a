//! The suction side: from the mouth in the oil to the pump's inlet, and the air that a poor joint lets in.
//!
//! Knows the oil and hydraulics; deliberately knows no pan's shape, no motion of oil, no design files.
