// WGS 84: a step of some metres from a position. By Earth-centred coordinates, and back in Heikkinen's closed form
// (M. Heikkinen, Zeitschrift für Vermessungswesen 107 (1982), 207-211; from memory).
"use strict";

const A = 6378137;
const F = 1 / 298.257223563;
const B = A * (1 - F);
const E2 = F * (2 - F);
const SECOND = (A * A - B * B) / (B * B);

function toCentre(lat, lon, height) {
  const n = A / Math.sqrt(1 - E2 * Math.sin(lat) ** 2);
  const r = (n + height) * Math.cos(lat);
  return [r * Math.cos(lon), r * Math.sin(lon), (n * (1 - E2) + height) * Math.sin(lat)];
}

function fromCentre([x, y, z]) {
  const r = Math.hypot(x, y);
  const f = 54 * B * B * z * z;
  const g = r * r + (1 - E2) * z * z - E2 * (A * A - B * B);
  const c = (E2 * E2 * f * r * r) / g ** 3;
  const s = Math.cbrt(1 + c + Math.sqrt(c * c + 2 * c));
  const p = f / (3 * (s + 1 / s + 1) ** 2 * g * g);
  const q = Math.sqrt(1 + 2 * E2 * E2 * p);
  const r0 = -(p * E2 * r) / (1 + q)
    + Math.sqrt(Math.max(0, 0.5 * A * A * (1 + 1 / q) - (p * (1 - E2) * z * z) / (q * (1 + q)) - 0.5 * p * r * r));
  const u = Math.hypot(r - E2 * r0, z);
  const v = Math.sqrt((r - E2 * r0) ** 2 + (1 - E2) * z * z);
  const z0 = (B * B * z) / (A * v);
  return { lat: Math.atan2(z + SECOND * z0, r), lon: Math.atan2(y, x), height: u * (1 - (B * B) / (A * v)) };
}

function step(lat, lon, height, [east, north, up]) {
  const [x, y, z] = toCentre(lat, lon, height);
  const [sl, cl, so, co] = [Math.sin(lat), Math.cos(lat), Math.sin(lon), Math.cos(lon)];
  return fromCentre([
    x - so * east - sl * co * north + cl * co * up,
    y + co * east - sl * so * north + cl * so * up,
    z + cl * north + sl * up,
  ]);
}

module.exports = { step, toCentre, fromCentre };
