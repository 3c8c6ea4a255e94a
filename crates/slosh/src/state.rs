//! The state of a solver as bytes: restoring it continues to the same bit.
//!
//! Little-endian: magic, version, shape of the grid, fingerprint of the shape's numbers, scalars, doors, then
//! each field as runs of non-zero entries (start, length, values), in the precision that the solver keeps it in.

use crate::SloshFault;
use crate::solver::Solver;

const MAGIC: &[u8; 8] = b"SWSLOSH3";

impl Solver {
    /// Everything the next step depends on.
    pub fn state(&self) -> Vec<u8> {
        let mut out = Vec::new();
        out.extend_from_slice(MAGIC);
        put(&mut out, self.fingerprint());
        put(&mut out, self.steps);
        put(&mut out, self.booked.to_bits());
        put(&mut out, self.pressure.dt.to_bits());
        put(&mut out, self.flaps.len() as u64);
        for flap in &self.flaps {
            put(&mut out, flap.angle.to_bits());
            put(&mut out, flap.rate.to_bits());
        }
        put_runs(
            &mut out,
            &self.f,
            |v| v.to_bits() != 0,
            |out, v| put(out, v.to_bits()),
        );
        for field in self.fields() {
            put_runs(
                &mut out,
                field,
                |v| v.to_bits() != 0,
                |out, v| out.extend_from_slice(&v.to_le_bytes()),
            );
        }
        for marks in &self.flow.mark {
            put_runs(&mut out, marks, |v| *v != 0, |out, v| out.push(*v));
        }
        out
    }

    /// Takes up a state that a solver of the same lattice, oil and settings saved. On a fault the solver is
    /// left dry.
    pub fn restore(&mut self, bytes: &[u8]) -> Result<(), SloshFault> {
        let own = self.fingerprint();
        let done = self.read_state(bytes, own);
        if done.is_err() {
            self.f.fill(0.0);
            self.flow.leave(0, self.grid.size());
            self.pressure.leave(0, self.grid.size());
            self.laid();
        }
        done
    }

    /// Takes the state of a solver whose lattice has the same cells but other open faces.
    pub(crate) fn adopt(&mut self, other: &Solver) -> Result<(), SloshFault> {
        self.read_state(&other.state(), other.fingerprint())
    }

    /// Reads a state that a solver with the fingerprint `due` saved.
    fn read_state(&mut self, bytes: &[u8], due: u64) -> Result<(), SloshFault> {
        let mut at = Reader { bytes, at: 0 };
        if at.take(8)? != MAGIC {
            return bad("it does not begin as a state of this program version does");
        }
        if at.number()? != due {
            return bad("it was saved with another lattice, oil or settings");
        }
        let steps = at.number()?;
        let booked = at.real()?;
        let dt = at.real()?;
        if at.number()? != self.flaps.len() as u64 {
            return bad("it has another number of doors");
        }
        // Empty first: what the state does not mention is zero.
        self.f.fill(0.0);
        self.flow.leave(0, self.grid.size());
        self.laid();
        for flap in &mut self.flaps {
            flap.angle = at.real()?;
            flap.rate = at.real()?;
        }
        let size = self.grid.size();
        let [ux, uy, uz] = &mut self.flow.u;
        let [gx, gy, gz] = &mut self.pressure.grad;
        let f = &mut self.f;
        at.runs(size, |at, c| {
            f[c] = at.real()?;
            Ok(())
        })?;
        for field in [ux, uy, uz, &mut self.pressure.q, gx, gy, gz] {
            field.fill(0.0);
            at.runs(size, |at, c| {
                field[c] = at.single()?;
                Ok(())
            })?;
        }
        for marks in &mut self.flow.mark {
            at.runs(size, |at, c| {
                marks[c] = at.take(1)?[0];
                Ok(())
            })?;
        }
        if at.at != bytes.len() {
            return bad("it is longer than it says");
        }
        let solid = self
            .grid
            .inner()
            .any(|c| self.f[c] != 0.0 && self.grid.volume[c] == 0.0);
        let total: f64 = self.f.iter().map(|v| v.abs()).sum();
        let inside: f64 = self.grid.inner().map(|c| self.f[c].abs()).sum();
        if solid || (total - inside).abs() > 1e-9 * total {
            return bad("it holds oil where this lattice has none");
        }
        (self.steps, self.booked, self.pressure.dt) = (steps, booked, dt);
        // The region was rebuilt from an empty tank, so nothing leaves it here and no field is touched.
        self.set_doors();
        self.laid();
        self.clear_fault();
        Ok(())
    }

    fn fields(&self) -> [&[f32]; 7] {
        let ([ux, uy, uz], [gx, gy, gz]) = (&self.flow.u, &self.pressure.grad);
        [ux, uy, uz, &self.pressure.q, gx, gy, gz]
    }

    /// FNV-1a over everything fixed that an answer depends on.
    fn fingerprint(&self) -> u64 {
        let mut hash = 0xcbf2_9ce4_8422_2325u64;
        let mut mix = |value: u64| {
            for byte in value.to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
            }
        };
        self.grid.n.iter().for_each(|n| mix(*n as u64));
        mix(self.grid.h.to_bits());
        self.grid.origin.to_array().iter().for_each(|v| mix(v.to_bits()));
        self.grid.volume.iter().for_each(|v| mix(v.to_bits()));
        for a in 0..3 {
            // Doors change their areas; the clear faces are the fixed part.
            self.grid.area[a]
                .iter()
                .zip(&self.grid.clear[a])
                .for_each(|(v, clear)| {
                    mix(if *clear == 1 { u64::from(v.to_bits()) } else { 0 });
                });
        }
        for v in [self.fluid.density, self.fluid.viscosity] {
            mix(v.to_bits());
        }
        let s = &self.settings;
        for v in [
            s.courant,
            s.tolerance,
            s.overfill_push,
            s.skin_friction,
            s.settling,
        ] {
            mix(v.to_bits());
        }
        mix(u64::from(s.max_iterations) << 1 | u64::from(s.wall_friction));
        hash
    }
}

fn bad<T>(why: &str) -> Result<T, SloshFault> {
    Err(SloshFault::State { why: why.into() })
}

fn put(out: &mut Vec<u8>, value: u64) {
    out.extend_from_slice(&value.to_le_bytes());
}

fn put_runs<T>(
    out: &mut Vec<u8>,
    field: &[T],
    counts: impl Fn(&T) -> bool,
    write: impl Fn(&mut Vec<u8>, &T),
) {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (c, v) in field.iter().enumerate() {
        if counts(v) {
            match runs.last_mut() {
                Some((start, length)) if *start + *length == c => *length += 1,
                _ => runs.push((c, 1)),
            }
        }
    }
    put(out, runs.len() as u64);
    for (start, length) in runs {
        put(out, start as u64);
        put(out, length as u64);
        field[start..start + length].iter().for_each(|v| write(out, v));
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize) -> Result<&'a [u8], SloshFault> {
        let end = self.at.checked_add(count).filter(|end| *end <= self.bytes.len());
        let Some(end) = end else {
            return bad("it is cut short");
        };
        let part = &self.bytes[self.at..end];
        self.at = end;
        Ok(part)
    }

    fn number(&mut self) -> Result<u64, SloshFault> {
        let mut eight = [0; 8];
        eight.copy_from_slice(self.take(8)?);
        Ok(u64::from_le_bytes(eight))
    }

    fn real(&mut self) -> Result<f64, SloshFault> {
        let value = f64::from_bits(self.number()?);
        if value.is_finite() {
            Ok(value)
        } else {
            bad("it holds a number that is no number")
        }
    }

    fn single(&mut self) -> Result<f32, SloshFault> {
        let mut four = [0; 4];
        four.copy_from_slice(self.take(4)?);
        let value = f32::from_le_bytes(four);
        if value.is_finite() {
            Ok(value)
        } else {
            bad("it holds a number that is no number")
        }
    }

    fn runs(
        &mut self,
        size: usize,
        mut each: impl FnMut(&mut Self, usize) -> Result<(), SloshFault>,
    ) -> Result<(), SloshFault> {
        let count = self.number()?;
        let mut past = 0;
        for _ in 0..count {
            let (start, length) = (self.number()? as usize, self.number()? as usize);
            let end = start
                .checked_add(length)
                .filter(|end| *end <= size && start >= past);
            let Some(end) = end else {
                return bad("its fields do not fit this lattice");
            };
            for c in start..end {
                each(self, c)?;
            }
            past = end;
        }
        Ok(())
    }
}
