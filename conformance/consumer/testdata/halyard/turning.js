// Rotations as unit quaternions [w, x, y, z], vectors as [right, forward, up] or [east, north, up].
"use strict";

function times(a, b) {
  return [
    a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3],
    a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
    a[0] * b[2] - a[1] * b[3] + a[2] * b[0] + a[3] * b[1],
    a[0] * b[3] + a[1] * b[2] - a[2] * b[1] + a[3] * b[0],
  ];
}

const back = (q) => [q[0], -q[1], -q[2], -q[3]];

// attitude: heading about down, then pitch about right, then roll about forward.
function attitude(heading, pitch, roll) {
  const h = [Math.cos(heading / 2), 0, 0, -Math.sin(heading / 2)];
  const p = [Math.cos(pitch / 2), Math.sin(pitch / 2), 0, 0];
  const r = [Math.cos(roll / 2), 0, Math.sin(roll / 2), 0];
  return times(times(h, p), r);
}

function turn(q, v) {
  const [, x, y, z] = times(times(q, [0, v[0], v[1], v[2]]), back(q));
  return [x, y, z];
}

// angles reads heading, pitch and roll off where the axes point.
function angles(q) {
  const right = turn(q, [1, 0, 0]);
  const forward = turn(q, [0, 1, 0]);
  const up = turn(q, [0, 0, 1]);
  return { heading: azimuth(forward), pitch: Math.atan2(forward[2], Math.hypot(forward[0], forward[1])), roll: Math.atan2(-right[2], up[2]) };
}

const azimuth = (v) => Math.atan2(v[0], v[1]);
const sum = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
const less = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const size = (v) => Math.hypot(v[0], v[1], v[2]);

module.exports = { times, back, attitude, turn, angles, azimuth, sum, less, size };
