import assert from "node:assert/strict";
import { test } from "node:test";
import { Pyramid } from "../../src/page/web/pyramid.js";

/** Numbers that look random and are always the same. */
function noise(length) {
  let state = 12345;
  return Int16Array.from({ length }, () => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return (state % 65536) - 32768;
  });
}

/** The slow twin: looks at every value. */
function plain(values, from, to) {
  const part = [...values.slice(Math.max(from, 0), Math.max(to, 0))];
  return part.length > 0 ? [Math.min(...part), Math.max(...part)] : null;
}

test("every stretch has the same extent as looked at value by value", () => {
  for (const length of [1, 2, 7, 8, 9, 63, 64, 65, 513, 1000]) {
    const values = noise(length);
    const pyramid = new Pyramid(values);
    for (let tries = 0; tries < 400; tries += 1) {
      const from = (tries * 37) % (length + 3) - 1;
      const to = from + ((tries * 61) % (length + 5));
      assert.deepEqual(pyramid.extent(from, to), plain(values, from, to), `${from} to ${to} of ${length}`);
    }
    assert.deepEqual(pyramid.extent(0, length), plain(values, 0, length));
  }
});

test("a single peak among millions is found wherever it lies", () => {
  const values = new Int16Array(1 << 20);
  const pyramid = () => new Pyramid(values).extent(3, values.length - 3);
  for (const at of [3, 12345, values.length - 4]) {
    values[at] = 99;
    assert.deepEqual(pyramid(), [0, 99]);
    values[at] = 0;
  }
});

test("a long stretch is read off few blocks", () => {
  const pyramid = new Pyramid(new Float32Array(500_000));
  const levels = pyramid.levels.map((level) => level.low.length);
  assert.equal(levels[0], 500_000);
  assert.ok(levels.at(-1) <= 8 && levels.slice(1).reduce((a, b) => a + b) < 500_000 / 6.9, `${levels}`);
});
