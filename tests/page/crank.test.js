import assert from "node:assert/strict";
import { test } from "node:test";
import { crankClock } from "../../src/page/web/crank.js";
import { syncMarks } from "../../src/page/web/sync.js";

const RATE = 10_000;
const MOST = 32_767;

/**
 * A starter that turns an engine whose load swings: key-on at 0.25 s, current in counts, and the angle that
 * the crank really made, by sums of J domega/dt = K I - load and I = (V - K omega) / R.
 */
function starter({ zero = 0, sign = 1 } = {}) {
  const [stall, free, inertia] = [25_000, 30, 0.05];
  const counts = new Int16Array(3 * RATE);
  const angles = new Float64Array(3 * RATE);
  let [omega, angle] = [0, 0];
  for (let i = 0; i < counts.length; i += 1) {
    angles[i] = angle;
    const current = i < 0.25 * RATE ? 0 : stall * (1 - omega / free);
    counts[i] = Math.round(zero + sign * current);
    if (i >= 0.25 * RATE) {
      omega += ((current / stall - 0.3 - 0.25 * Math.sin(3 * angle)) * 1.5) / inertia / RATE;
      angle += omega / RATE;
    }
  }
  return { counts, angles };
}

test("the clock turns as the crank does, whatever the clamp's zero and direction", () => {
  for (const clamp of [{}, { zero: 700 }, { sign: -1 }]) {
    const { counts, angles } = starter(clamp);
    const clock = crankClock(counts, RATE, 5, MOST, "Starter current");
    // Two turns somewhere tell its unit; all others must then be right.
    const turn = (clock.angleAt(5 + 1.5) - clock.angleAt(5 + 1)) / (angles[1.5 * RATE] - angles[RATE]);
    for (let i = 0.3 * RATE; i < 3 * RATE; i += 977) {
      const error = clock.angleAt(5 + i / RATE) / turn - angles[Math.floor(i)];
      assert.ok(Math.abs(error) < 0.02, `${error} rad off after ${i / RATE} s`);
    }
    assert.equal(clock.angleAt(5.2), 0, "it turns before key-on");
    for (const time of [5.4, 6, 7.9]) assert.ok(Math.abs(clock.timeAt(clock.angleAt(time)) - time) < 1e-9);
  }
});

test("a run that shows no key-on, or one cut flat, tells no crank", () => {
  const { counts } = starter();
  assert.equal(crankClock(counts.slice(0.6 * RATE), RATE, 0, MOST, ""), null, "it begins while cranking");
  assert.equal(crankClock(counts.map((c) => Math.min(c, 20_000)), RATE, 0, 20_000, ""), null, "it is cut flat");
  assert.equal(crankClock(new Int16Array(RATE), RATE, 0, MOST, ""), null, "it is silent");
  assert.equal(crankClock(new Int16Array(3), RATE, 0, MOST, ""), null, "it is short");
  const ramp = Int16Array.from({ length: RATE }, (_, i) => Math.max(i - 3000, 0));
  assert.equal(crankClock(ramp, RATE, 0, MOST, ""), null, "it rises slowly");
});

test("a sync marks where it rises through half its height, upside down too", () => {
  const counts = Int16Array.from({ length: 3000 }, (_, i) => (i % 1000 >= 500 && i % 1000 < 520 ? 9000 : (i % 7) - 3));
  const mean = counts.reduce((sum, c) => sum + c, 0) / counts.length;
  const expected = [10.5, 11.5, 12.5];
  assert.deepEqual(syncMarks(counts, 1000, 10, mean), expected);
  assert.deepEqual(syncMarks(counts.map((c) => -c), 1000, 10, -mean), expected);
  // Chatter on an edge marks once; a run that begins within a mark does not show where it began.
  const chatter = Int16Array.from([9, 9, 0, 0, 5, 4, 6, 9, 9, 0, 0]);
  assert.deepEqual(syncMarks(chatter, 1, 0, 3), [4]);
  assert.deepEqual(syncMarks(new Int16Array(50), 1000, 0, 0), []);
  const noise = Int16Array.from({ length: 9000 }, (_, i) => (i % 2) * 100);
  assert.deepEqual(syncMarks(noise, 1000, 0, 20), [], "noise is no sync");
});
