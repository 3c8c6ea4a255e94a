"""The reference work by a general material-point kernel, written here for the taichi library.

`material_point.py SECONDS THREADS` prints one line of JSON.

Affine particle-in-cell on a grid of 5 mm, 8 particles a cell, f32, quadratic weights, a weakly compressible
fluid: p = rho c^2 (1 - J), c = 10 m/s (some four times the fastest oil; ten times is
usual and twice as dear), explicit steps at 0.4 of the sound's
way through a cell. Viscosity is left out: the kernel's own damping is larger.
"""

import json
import sys
import time

import taichi as ti

seconds, threads = float(sys.argv[1]), int(sys.argv[2])
ti.init(arch=ti.cpu, cpu_max_num_threads=threads, offline_cache=False, log_level=ti.ERROR)

H = 0.005
CELLS = (60, 40, 30)
FILLED = 15
PAD = 3
RHO = 850.0
SOUND = 10.0
DT = 0.4 * H / SOUND
G = 9.81
COUNT = CELLS[0] * CELLS[1] * FILLED * 8
VOLUME = (H / 2) ** 3

x = ti.Vector.field(3, ti.f32, COUNT)
v = ti.Vector.field(3, ti.f32, COUNT)
c = ti.Matrix.field(3, 3, ti.f32, COUNT)
jac = ti.field(ti.f32, COUNT)
shape = tuple(n + 2 * PAD for n in CELLS)
grid_v = ti.Vector.field(3, ti.f32, shape)
grid_m = ti.field(ti.f32, shape)


@ti.kernel
def fill():
    for p in range(COUNT):
        nx, ny = 2 * CELLS[0], 2 * CELLS[1]
        i, j, k = p % nx, p // nx % ny, p // (nx * ny)
        x[p] = (ti.Vector([i, j, k]) + 0.5) * (H / 2)
        v[p] = ti.Vector.zero(ti.f32, 3)
        c[p] = ti.Matrix.zero(ti.f32, 3, 3)
        jac[p] = 1.0


@ti.kernel
def clear():
    for i in ti.grouped(grid_m):
        grid_v[i] = ti.Vector.zero(ti.f32, 3)
        grid_m[i] = 0.0


@ti.func
def weights(place):
    base = ti.cast(place - 0.5, ti.i32)
    f = place - ti.cast(base, ti.f32)
    return base, f, (0.5 * (1.5 - f) ** 2, 0.75 - (f - 1.0) ** 2, 0.5 * (f - 0.5) ** 2)


@ti.kernel
def to_grid():
    for p in range(COUNT):
        base, f, w = weights(x[p] / H + PAD)
        stress = -DT * VOLUME * jac[p] * 4.0 / (H * H) * RHO * SOUND * SOUND * (1.0 - jac[p])
        mass = VOLUME * RHO
        affine = -stress * ti.Matrix.identity(ti.f32, 3) + mass * c[p]
        for a, b, d in ti.static(ti.ndrange(3, 3, 3)):
            way = (ti.Vector([a, b, d]) - f) * H
            weight = w[a][0] * w[b][1] * w[d][2]
            at = base + ti.Vector([a, b, d])
            grid_v[at] += weight * (mass * v[p] + affine @ way)
            grid_m[at] += weight * mass


@ti.kernel
def on_grid(gx: ti.f32, gy: ti.f32):
    for i in ti.grouped(grid_m):
        if grid_m[i] > 0.0:
            u = grid_v[i] / grid_m[i] + DT * ti.Vector([gx, gy, -G])
            for a in ti.static(range(3)):
                if i[a] <= PAD and u[a] < 0.0:
                    u[a] = 0.0
                if i[a] >= PAD + CELLS[a] and u[a] > 0.0:
                    u[a] = 0.0
            grid_v[i] = u


@ti.kernel
def from_grid():
    for p in range(COUNT):
        base, f, w = weights(x[p] / H + PAD)
        u = ti.Vector.zero(ti.f32, 3)
        b_matrix = ti.Matrix.zero(ti.f32, 3, 3)
        for a, b, d in ti.static(ti.ndrange(3, 3, 3)):
            way = ti.Vector([a, b, d]) - f
            weight = w[a][0] * w[b][1] * w[d][2]
            g = grid_v[base + ti.Vector([a, b, d])]
            u += weight * g
            b_matrix += 4.0 / H * weight * g.outer_product(way)
        v[p], c[p] = u, b_matrix
        x[p] += DT * u
        # A weakly compressible liquid takes no tension: what is pulled apart stays at rest density.
        jac[p] = ti.min(jac[p] * (1.0 + DT * b_matrix.trace()), 1.0)
        for a in ti.static(range(3)):
            x[p][a] = ti.math.clamp(x[p][a], 0.02 * H, (CELLS[a] - 0.02) * H)


def step(now):
    clear()
    to_grid()
    on_grid(*((G, 0.0) if now < 1.0 else (0.0, G)))
    from_grid()


fill()
step(0.0)  # compiles
fill()
ti.sync()
wall, cpu = time.perf_counter(), time.process_time()
steps = max(1, round(seconds / DT))
for n in range(steps):
    step(n * DT)
ti.sync()
wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
positions = x.to_numpy()
print(
    json.dumps(
        {
            "simulated": steps * DT,
            "wall": wall,
            "cpu": cpu,
            "steps": steps,
            "points": COUNT,
            "lost": 0 if positions.min() == positions.min() else COUNT,
            "mean_x": float(positions[:, 0].mean()),
            "mean_z": float(positions[:, 2].mean()),
        }
    )
)
