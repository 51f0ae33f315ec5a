import assert from "node:assert/strict";
import { test } from "node:test";
import { clamp, decimals, fixed, interval, significant, span, ticks } from "../../src/page/web/arithmetic.js";

test("an interval is told as time, frequency and speed, whichever cursor lies first", () => {
  // At 200 rev/min a turn takes 0.3 s, and a cycle of two turns 0.6 s.
  for (const [a, b] of [[1, 1.6], [1.6, 1]]) {
    const { seconds, hertz, rpmOfTurn, rpmOfCycle } = interval(a, b);
    assert.ok(Math.abs(seconds - 0.6) < 1e-12);
    assert.ok(Math.abs(hertz - 1 / 0.6) < 1e-9);
    assert.ok(Math.abs(rpmOfTurn - 100) < 1e-9);
    assert.ok(Math.abs(rpmOfCycle - 200) < 1e-9);
  }
});

test("ticks are round, lie within, and are no more than wanted", () => {
  assert.deepEqual(ticks(0, 4, 8), { values: [0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4], decimals: 1 });
  assert.deepEqual(ticks(-1, 1, 2).values.map((v) => v + 0), [-1, 0, 1]);
  assert.deepEqual(ticks(5, 5, 4).values, []);
  for (const [low, high, most] of [[0.1234, 0.1237, 7], [-30, 1e6, 5], [1e-6, 2e-6, 9]]) {
    const { values } = ticks(low, high, most);
    assert.ok(values.length > 1 && values.length <= most + 1, `${values}`);
    assert.ok(values.every((v) => v >= low - 1e-12 && v <= high + 1e-12), `${values}`);
  }
});

test("numbers keep the digits that mean something", () => {
  assert.deepEqual([decimals(1), decimals(0.5), decimals(0.02), decimals(1 / 50_000), decimals(0)], [0, 1, 2, 5, 0]);
  assert.equal(fixed(-1.25, 1), "\u22121.3");
  assert.equal(fixed(-0.001, 2), "0.00", "nothing is not negative");
  assert.equal(fixed(null, 2), "\u2013");
  assert.equal(significant(702.618, 5), "702.62");
  assert.equal(significant(0.001234), "0.001234");
  assert.equal(significant(0), "0");
  assert.deepEqual([span(1.5), span(0.0345), span(2e-5)], ["1.500 s", "34.50 ms", "20.00 \u00b5s"]);
  assert.deepEqual([clamp(5, 0, 1), clamp(-5, 0, 1), clamp(0.5, 0, 1)], [1, 0, 0.5]);
});
