//! still
