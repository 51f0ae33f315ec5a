// The capture page in a browser, from the first look to the graded call.
//
// Usage: node end_to_end.js WATERJACKET LESSONS SCENARIOS FOLDER
//
// LESSONS are the rendered lessons with their truths, SCENARIOS the folder they come from. Pages, screenshots
// and a printed page go to FOLDER, to be looked at. Chromium goes through everything, Firefox, where it is
// installed, through looking, measuring and saving.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { downloaded, installed, launch, open, plotOf, reading, settled } from "./browser.js";

const [waterjacket, lessons, scenarios, folder] = process.argv.slice(2).map((path) => resolve(path));
const AXE = readFileSync(fileURLToPath(import.meta.resolve("axe-core/axe.min.js")), "utf8");
const file = (name) => join(folder, name);
const json = (path) => JSON.parse(readFileSync(path, "utf8"));
const truthOf = (name) => json(join(lessons, `${name}.truth.json`));
const run = (...words) => execFileSync(waterjacket, words, { encoding: "utf8" });

/** Values of the table below the traces, by trace and column. */
async function values(page) {
  return page.evaluate(() => {
    const table = document.getElementById("values");
    const heads = [...table.tHead.rows[0].cells].map((c) => c.textContent);
    return Object.fromEntries([...table.tBodies[0].rows].map((row) => {
      const cells = [...row.cells].map((c) => c.textContent.replace("\u2212", "-"));
      return [cells[0], Object.fromEntries(heads.map((head, i) => [head, Number.parseFloat(cells[i])]))];
    }));
  });
}

const text = (page, selector) => page.$eval(selector, (element) => element.textContent);
const focused = (page) => page.evaluate(() => document.activeElement.id || document.activeElement.textContent);

/** Presses Tab until an element has the focus; every stop on the way must show that it has it. */
async function tabTo(page, id) {
  for (let presses = 0; presses < 120; presses += 1) {
    if ((await focused(page)) === id) return;
    await page.keyboard.press("Tab");
    const outline = await page.evaluate(() => {
      const style = getComputedStyle(document.activeElement);
      return document.activeElement === document.body || style.outlineStyle !== "none";
    });
    assert.ok(outline, `no focus is seen on ${await focused(page)}`);
  }
  assert.fail(`Tab does not reach ${id}`);
}

/** Turns to a capture by its name. */
async function turnTo(page, name) {
  await page.evaluate((wanted) => {
    const select = document.getElementById("capture");
    select.value = [...select.options].find((o) => o.textContent === wanted).value;
    select.dispatchEvent(new Event("change"));
  }, name);
  await page.waitForFunction((wanted) => document.getElementById("name").textContent === wanted, {}, name);
  await settled(page);
}

/** Steps the reading line on until the trace is, or is not, above a level; all by keys. */
async function walk(page, trace, level, above) {
  for (let steps = 0; steps < 4000; steps += 1) {
    const { Here } = (await values(page))[trace];
    if (Here > level === above) return;
    await page.keyboard.press(".");
  }
  assert.fail(`${trace} never gets there`);
}

/** No part of the page is wider than the window. */
async function narrow(page, width) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(over <= 0, `the page is ${over} pixels wider than ${width}`);
}

/** What no console may say, and no network be asked for. */
function quiet({ said, loaded }) {
  assert.deepEqual(said, []);
  assert.deepEqual(loaded.filter((url) => !/^(file|blob|data):/.test(url)), []);
}

/** A place at a share of the sheet's width, in whole pixels of the window: a wheel knows no others. */
async function onSheet(page, share, down = 80) {
  const box = await page.$eval("#traces", (canvas, reach) => {
    const seen = canvas.getBoundingClientRect();
    if (seen.top < 0 || seen.top + reach > innerHeight) document.getElementById("overview").scrollIntoView();
    const { left, top, width } = canvas.getBoundingClientRect();
    return { left, top, width };
  }, down);
  const { left, right } = plotOf(box.width);
  return [Math.round(box.left + left + share * (right - left)), Math.round(box.top + down)];
}

async function looking(opened) {
  const { page } = opened;
  const last = (await page.$$eval("#capture option", (options) => options.length)) - 1;
  assert.equal(last + 1, 22, "every lesson is in the page");
  await turnTo(page, "01-plain-staircase");

  // The wheel magnifies around the pointer: the time under it stays.
  await page.mouse.move(...(await onSheet(page, 0.6)));
  const before = await reading(page, "Here");
  for (let turns = 0; turns < 8; turns += 1) await page.mouse.wheel({ deltaY: -240 });
  await settled(page);
  await page.mouse.move(...(await onSheet(page, 0.6)));
  assert.ok(Math.abs((await reading(page, "Here")) - before) < 1e-3, "the wheel moves what is under the pointer");

  // A drag moves the run with the hand, and a double click shows all of it again.
  await page.mouse.down();
  await page.mouse.move(...(await onSheet(page, 0.3)), { steps: 5 });
  await page.mouse.up();
  await page.mouse.move(...(await onSheet(page, 0.3)));
  assert.ok(Math.abs((await reading(page, "Here")) - before) < 1e-3, "a drag does not follow the hand");
  await page.mouse.click(...(await onSheet(page, 0.3)), { count: 2 });
  await page.mouse.move(...(await onSheet(page, 1)));
  const end = await reading(page, "Here");
  assert.ok(Math.abs(end - 4) < 0.01, `a double click does not show the whole run: ${end}`);
}

/** Cursors on two triggers, by keys alone, against the truth's TDCs. */
async function measuring({ page }, name) {
  const truth = truthOf(name);
  const sync = 1;
  const tdcs = truth.tdcs.filter((t) => t.cylinder === sync).map((t) => t.time_s);
  await turnTo(page, name);
  await page.focus("#previous");
  await tabTo(page, "chart");
  for (const key of ["f", "Home", "+", "+", "+", "+"]) await page.keyboard.press(key);
  const coil = `Coil trigger ${sync}, V`;
  await walk(page, coil, 2, true);
  const first = await reading(page, "Here");
  await page.keyboard.press("a");
  await walk(page, coil, 2, false);
  await walk(page, coil, 2, true);
  await page.keyboard.press("b");
  const cycle = tdcs.map((t, i) => (tdcs[i + 1] ?? Infinity) - t).find((_, i) => tdcs[i] > first);
  const ms = await reading(page, "A to B");
  assert.ok(Math.abs(ms / 1000 / cycle - 1) < 0.03, `${ms} ms between triggers, ${cycle * 1000} ms between TDCs`);
  const rpm = await reading(page, "As one cycle");
  assert.ok(Math.abs(rpm / (120_000 / ms) - 1) < 1e-3);
  assert.ok(Math.abs((await reading(page, "Frequency")) / (1000 / ms) - 1) < 1e-3);
  assert.ok(Math.abs((await reading(page, "As one turn")) / (60_000 / ms) - 1) < 1e-3);

  // The count from the sync that the reader names, still by keys: C, then the list.
  await page.keyboard.press("c");
  await tabTo(page, "sync");
  await page.keyboard.type(String(sync));
  await page.keyboard.press("Tab");
  const order = truth.engine.firing_order;
  assert.match(await text(page, "#place"), new RegExp(`Counted from ${sync}: ${[...order, sync].join(" . ")}\\.`));
  return { cycle, first };
}

/** Cursors on the second and third mark of cylinder 1's coil, by the pointer and keys. */
async function layCursors(page, name) {
  const { tdcs } = truthOf(name);
  const times = tdcs.filter((t) => t.cylinder === 1).map((t) => t.time_s);
  await page.focus("#chart");
  for (const [key, time] of [["a", times[1]], ["b", times[2]]]) {
    await page.mouse.move(...(await onSheet(page, time / 4)));
    await page.keyboard.press(key);
  }
  await page.select("#sync", "1");
}

/** What a screen reader is told: every control has a name, and the cursors tell where they lie. */
async function hearing({ page }) {
  const controls = [];
  const walkTree = (node) => {
    if (["button", "combobox", "checkbox", "textbox", "spinbutton", "slider"].includes(node.role)) controls.push(node);
    (node.children ?? []).forEach(walkTree);
  };
  walkTree(await page.accessibility.snapshot());
  assert.ok(controls.length > 40, `only ${controls.length} controls`);
  assert.deepEqual(controls.filter((c) => !c.name), []);
  const sliders = controls.filter((c) => c.role === "slider");
  assert.deepEqual(sliders.map((c) => c.name), ["Firing intervals", "Cursor A", "Cursor B"]);
  const told = await page.$eval(".handle.cursor", (tab) => tab.getAttribute("aria-valuetext"));
  assert.match(told, /^\d\.\d{5} s$/);
  // Once the hand rests, the readings are said.
  await page.waitForFunction(() => /A to B .* ms, .* As one cycle .* rpm, .* Last TDC \d/.test(document.getElementById("said").textContent));
}

/** The strip's ticks as it tells them, one after the other, by keys alone: cylinder and time. */
async function ticks(page) {
  await page.focus("#chart");
  for (const key of ["g", "Home"]) await page.keyboard.press(key);
  await settled(page);
  const told = [];
  for (let last = Infinity; told.length < last; ) {
    const [words, most] = await page.$eval("#firing", (bar) => [bar.getAttribute("aria-valuetext"), bar.getAttribute("aria-valuemax")]);
    const [, cylinder, time] = words.match(/^cylinder (\d+), TDC at (\d+\.\d{4}) s$/);
    told.push({ cylinder: Number(cylinder), time: Number(time) });
    last = Number(most);
    await page.keyboard.press("ArrowRight");
    await settled(page);
  }
  return told;
}

/** The strip runs along the whole run, with every TDC of the truth within a millisecond, and stays while zooming. */
async function stripping({ page }, name) {
  const { tdcs } = truthOf(name);
  const told = await ticks(page);
  assert.deepEqual(told.map((t) => t.cylinder), tdcs.map((t) => t.cylinder));
  const errors = told.map((t, i) => Math.abs(t.time - tdcs[i].time_s) * 1000);
  const worst = Math.max(...errors);
  assert.ok(worst < 1, `a tick of ${name} stands ${worst} ms from its TDC`);
  await page.focus("#chart");
  for (const key of ["f", "+", "+", "+", "ArrowRight"]) await page.keyboard.press(key);
  assert.deepEqual(await ticks(page), told, "zooming moves the strip");
  await page.focus("#chart");
  await page.keyboard.press("f");
  return worst;
}

/** Whether the traces show a guide at a time of the whole run: a pixel of its colour, high in the first panel. */
async function isGuided(page, time) {
  await settled(page);
  const [x, y] = await onSheet(page, time / 4, 62);
  return page.evaluate((left, top) => {
    const canvas = document.getElementById("traces");
    const box = canvas.getBoundingClientRect();
    const sharp = canvas.width / box.width;
    const copy = new OffscreenCanvas(3, 1).getContext("2d");
    copy.drawImage(canvas, Math.round((left - box.left) * sharp) - 1, Math.round((top - box.top) * sharp), 3, 1, 0, 0, 3, 1);
    const { data } = copy.getImageData(0, 0, 3, 1);
    // The guide is blue in either theme; paper, grid and cursors are grey.
    return [0, 4, 8].some((i) => data[i + 2] - data[i] > 40);
  }, x, y);
}

/** Guides run through the traces at the pointed cylinder's TDCs, and only while a tick is pointed at. */
async function pointing({ page }, name) {
  const { tdcs, engine } = truthOf(name);
  const cylinder = engine.firing_order[3];
  const times = tdcs.filter((t) => t.cylinder === cylinder).map((t) => t.time_s);
  const down = await page.evaluate(() => document.getElementById("firing").offsetTop + 10);
  await page.mouse.move(...(await onSheet(page, 0.5, 70)));
  assert.ok(!(await isGuided(page, times[2])), "a guide without a pointer");
  await page.mouse.move(...(await onSheet(page, times[2] / 4, down)));
  await settled(page);
  assert.match(await page.$eval("#firing", (bar) => bar.getAttribute("aria-valuetext")), new RegExp(`^cylinder ${cylinder},`));
  for (const time of times.slice(1)) assert.ok(await isGuided(page, time), `no guide at ${time} s`);
  await page.mouse.move(...(await onSheet(page, 0.5, 70)));
  assert.ok(!(await isGuided(page, times[2])), "the guide stays");
}

/** The strip names the leaking cylinder once the lag is stepped back. */
async function counting({ page }, name) {
  const truth = truthOf(name);
  await page.focus("#chart");
  await page.keyboard.press("z");
  const a = await reading(page, "Cursor A");
  const b = await reading(page, "Cursor B");
  const event = truth.events.find((e) => e.tdc_s > a && e.tdc_s < b);
  const view = { from: a - 0.06 * (b - a), to: b + 0.06 * (b - a) };
  await page.mouse.move(...(await onSheet(page, (event.tdc_s + 0.004 - view.from) / (view.to - view.from))));
  assert.equal(await reading(page, "Last TDC"), event.cylinder);
  const since = (await reading(page, "Here")) - event.tdc_s;
  assert.ok(Math.abs((await reading(page, "Since it")) / 1000 - since) < 1e-3);
  const { firing_order: order, firing_intervals_deg: intervals } = truth.engine;
  const at = order.indexOf(event.cylinder);
  const degrees = intervals.slice(0, at).reduce((sum, d) => sum + d, 0);
  assert.ok(Math.abs((await reading(page, "Firing intervals")) - at) < 0.1);
  assert.ok(Math.abs((await reading(page, "From the sync")) - degrees - 4) < 3);
  await page.keyboard.press("f");
}

/** Whether all of an element is in sight. */
const inSight = (page, selector) => page.$eval(selector, (element) => {
  const { top, bottom, left, right } = element.getBoundingClientRect();
  return top >= -0.5 && left >= -0.5 && bottom <= innerHeight + 0.5 && right <= innerWidth + 0.5;
});

/** The readings stay in sight, with the whole sheet, while a cursor is dragged by its grip. */
async function dragging(driver, width, height) {
  const opened = await open(driver, file("lessons.html"), { width, height });
  const { page } = opened;
  await turnTo(page, "01-plain-staircase");
  await layCursors(page, "01-plain-staircase");
  await page.$eval("#overview", (overview) => overview.scrollIntoView());
  const box = await page.$eval(".handle.cursor", (grip) => grip.getBoundingClientRect().toJSON());
  const before = await reading(page, "Cursor A");
  const ms = await reading(page, "A to B");
  await page.mouse.move(box.x + 34, box.y + 24);
  await page.mouse.down();
  await page.mouse.move(box.x + 54, box.y + 24, { steps: 4 });
  await settled(page);
  for (const part of ["#tiles", "#traces", "#firing"]) assert.ok(await inSight(page, part), `${part} is out of sight at ${width} x ${height}`);
  await page.mouse.up();
  const moved = (await reading(page, "Cursor A")) - before;
  assert.ok(moved > 0.01, "the grip does not move its cursor");
  assert.ok(Math.abs(ms / 1000 - moved - (await reading(page, "A to B")) / 1000) < 2e-5);
  await page.screenshot({ path: file(`measuring-${width}.png`) });
  quiet(opened);
  await page.close();
}

/** A telephone: fingers drag a cursor and hold a tick, and everything to be touched is 48 pixels tall. */
async function touching(driver) {
  const opened = await open(driver, file("lessons.html"), { width: 360, height: 780, touch: true });
  const { page } = opened;
  const name = "20-odd-firing";
  const { tdcs } = truthOf(name);
  await turnTo(page, name);
  for (const [button, time] of [["a", tdcs[6].time_s], ["b", tdcs[12].time_s]]) {
    await page.touchscreen.tap(...(await onSheet(page, time / 4)));
    await page.$eval(`[data-key="${button}"]`, (element) => element.click());
  }
  await page.select("#sync", String(tdcs[6].cylinder));
  await page.$eval("#overview", (overview) => overview.scrollIntoView());
  const grip = await page.$eval(".handle.cursor", (element) => element.getBoundingClientRect().toJSON());
  const before = await reading(page, "Cursor A");
  const finger = await page.touchscreen.touchStart(grip.x + 24, grip.y + 24);
  await finger.move(grip.x + 30, grip.y + 24);
  assert.ok(await inSight(page, "#tiles"), "the readings are out of sight under a finger");
  await finger.end();
  assert.notEqual(await reading(page, "Cursor A"), before, "a finger does not move the cursor");

  const bar = await page.$eval("#firing", (element) => element.getBoundingClientRect().toJSON());
  const [x] = await onSheet(page, tdcs[15].time_s / 4);
  const holding = await page.touchscreen.touchStart(x, bar.y + 20);
  await settled(page);
  const held = () => page.$eval("#firing", (element) => element.getAttribute("aria-valuetext"));
  assert.match(await held(), /^cylinder \d, TDC at/);
  await holding.end();
  await settled(page);
  assert.match(await held(), /^\d+ TDCs$/, "a lifted finger still holds a tick");

  const small = await page.evaluate(() => [...document.querySelectorAll("button, select, input:not([type=checkbox]), label:has([type=checkbox]), .handle, #firing")]
    .filter((element) => element.checkVisibility())
    .map((element) => [element.id || element.textContent, element.getBoundingClientRect().height])
    .filter(([, height]) => height < 48));
  assert.deepEqual(small, []);
  await page.screenshot({ path: file("touch.png") });
  quiet(opened);
  await page.close();
}

/** What axe-core finds wrong with a page as it stands: nothing. */
async function accessible({ page }, state) {
  await page.evaluate(AXE);
  const violations = await page.evaluate(async () => (await axe.run()).violations.map(({ id, nodes }) => [id, ...nodes.map((n) => n.html)].join(" ")));
  assert.deepEqual(violations, [], state);
}

async function aids({ page }) {
  await turnTo(page, "02-two-sensors");
  await page.focus("#chart");
  await page.mouse.move(...(await onSheet(page, 0.8)));
  const neck = (await values(page))["Neck pressure, kPa"].Here;
  assert.ok(neck > 1, `${neck} kPa`);
  await page.keyboard.press("u");
  await settled(page);
  const psi = (await values(page))["Neck pressure, psi"].Here;
  assert.ok(Math.abs(psi * 6.894757 - neck) < 0.01, `${psi} psi is not ${neck} kPa`);
  await page.keyboard.press("u");
  const bar = (await values(page))["Neck pressure, bar"].Here;
  assert.ok(Math.abs(bar * 100 - neck) < 0.01);
  await page.keyboard.press("u");
  await page.keyboard.press("i");
  assert.equal((await values(page))["Neck pressure, kPa"].Here, -neck);
  await page.keyboard.press("r");
  // Two levels, and their difference.
  await page.keyboard.press("1");
  await page.mouse.move(...(await onSheet(page, 0.2)));
  await page.keyboard.press("2");
  const [one, two, apart] = await Promise.all(["Level 1", "Level 2", "2 \u2212 1"].map((term) => reading(page, term)));
  assert.equal(one, neck);
  assert.ok(Math.abs(two - one - apart) < 0.011 && apart < 0);
  // The grip of a level cursor is a slider that the arrows move.
  const slider = await page.evaluateHandle(() => [...document.querySelectorAll(".handle.level")].find((h) => !h.hidden));
  await slider.focus();
  await page.keyboard.press("ArrowUp");
  assert.ok((await reading(page, "Level 1")) > neck);
  await page.focus("#chart");
  await page.keyboard.press("x");
  // Hide and show.
  await page.keyboard.press("h");
  assert.equal((await values(page))["Neck pressure, kPa"], undefined);
  await page.keyboard.press("h");
  assert.ok((await values(page))["Neck pressure, kPa"]);
  // Down to single samples: the window holds ten of them.
  for (let presses = 0; presses < 40; presses += 1) await page.keyboard.press("+");
  const [left] = await onSheet(page, 0);
  await page.mouse.move(...(await onSheet(page, 0)));
  const from = await reading(page, "Here");
  await page.mouse.move(...(await onSheet(page, 1)));
  const seen = (await reading(page, "Here")) - from;
  assert.ok(Math.abs(seen - 10 / 50_000) < 2e-5, `${seen} s are seen, from ${left}`);
}

/** Two fingers apart, on the sheet. */
async function pinching({ page }) {
  await page.focus("#chart");
  await page.keyboard.press("f");
  const client = await page.createCDPSession();
  const touch = async (type, shares) => {
    const points = await Promise.all(shares.map((share) => onSheet(page, share)));
    await client.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) });
  };
  await touch("touchStart", [0.4]);
  await touch("touchStart", [0.4, 0.5]);
  await touch("touchMove", [0.4, 0.6]);
  await touch("touchMove", [0.4, 0.8]);
  await touch("touchEnd", []);
  await page.mouse.move(...(await onSheet(page, 0)));
  const from = await reading(page, "Here");
  await page.mouse.move(...(await onSheet(page, 1)));
  const seen = (await reading(page, "Here")) - from;
  assert.ok(seen < 1.2 && seen > 0.8, `four times as far apart shows ${seen} s of 4 s`);
}

/** Types into a field of the answer. */
async function type(page, id, words) {
  await page.focus(`#${id}`);
  await page.$eval(`#${id}`, (input) => input.select());
  await page.keyboard.type(words);
}

/** Calls of a whole pack, saved, and graded by the program. */
async function calling(driver, pack) {
  const opened = await open(driver, join(pack, "student/page.html"));
  const { page } = opened;
  const names = await page.$$eval("#capture option", (options) => options.map((o) => o.textContent));
  await type(page, "cylinders", "2/5");
  assert.match(await text(page, "#cylinders-wrong"), /This is not a call/);
  await page.click("#save");
  assert.match(await text(page, "#kept"), /Nothing was saved/);
  await type(page, "cylinders", "9");
  assert.match(await text(page, "#cylinders-wrong"), /The engine has no cylinder 9/);
  for (const name of names) {
    await turnTo(page, name);
    const { evidence } = json(join(pack, `key/${name}.truth.json`));
    await type(page, "cylinders", evidence.supported[0]);
    await type(page, "confidence", "80%");
    await type(page, "note", 'counted; "twice", =1+1');
  }
  // Calls survive a look at the others, and leaving with them unsaved asks first.
  await turnTo(page, names[0]);
  assert.equal(await page.$eval("#confidence", (input) => input.value), "80%");
  assert.match(await text(page, "#kept"), /12 of 12 called, not saved yet/);
  const asked = new Promise((done) => page.once("dialog", done));
  await page.close({ runBeforeUnload: true });
  const dialog = await asked;
  assert.equal(dialog.type(), "beforeunload");
  await dialog.dismiss();
  await type(page, "student", "Ann of the early shift");
  await accessible(opened, "a pack that was called");
  await page.screenshot({ path: file("called.png"), fullPage: true });
  await page.click("#save");
  const sheet = await downloaded(driver.downloads, "Ann-of-the-early-shift.csv");
  const { pack: id } = json(join(pack, "key/pack.json"));
  assert.equal(sheet.split("\n")[0], "capture,cylinders,confidence,note,pack");
  assert.ok(sheet.split("\n")[1].endsWith(`,${id}`), sheet);
  assert.match(await text(page, "#kept"), /12 of 12 called, saved/);
  writeFileSync(file("ann.csv"), sheet);
  const graded = JSON.parse(run("grade", file("ann.csv"), "--key", join(pack, "key"), "--json"));
  const points = graded.students[0].graded.map((g) => g.verdict.points);
  assert.deepEqual(points, names.map(() => 1));
  quiet(opened);
  // Saved, it may be left without a word.
  await page.close({ runBeforeUnload: true });
  return points.length;
}

/** One call, saved where saving is the browser's own affair, and graded. */
async function saving(driver, opened) {
  const { page } = opened;
  await turnTo(page, "03-wasted-spark");
  await type(page, "cylinders", "4|3");
  await type(page, "student", "ben");
  await page.click("#save");
  const sheet = await downloaded(driver.downloads, "ben.csv");
  assert.equal(sheet, "capture,cylinders,confidence,note\n03-wasted-spark,3|4,,\n");
  writeFileSync(file("ben.csv"), sheet);
  const graded = JSON.parse(run("grade", file("ben.csv"), "--key", lessons, "--json"));
  assert.equal(graded.students[0].graded[0].verdict.points, 1);
}

/** The button turns the page dark against the reader's setting, traces and all, and light again. */
async function themes(page) {
  const grounds = () => page.evaluate(() => {
    const sheet = document.getElementById("traces");
    const copy = new OffscreenCanvas(1, 1).getContext("2d");
    copy.drawImage(sheet, 2, sheet.height - 2, 1, 1, 0, 0, 1, 1);
    return [getComputedStyle(document.body).backgroundColor, copy.getImageData(0, 0, 1, 1).data[0]];
  });
  const light = await grounds();
  await page.click("#theme");
  await settled(page);
  const dark = await grounds();
  assert.ok(light[0] !== dark[0] && light[1] > 200 && dark[1] < 60, `${light} and ${dark}`);
  await page.click("#theme");
  await settled(page);
  assert.deepEqual(await grounds(), light);
}

/** Every look that a person should see once. */
async function pictures(driver) {
  const looks = [[360, 780, "light"], [360, 780, "dark"], [768, 1024, "light"], [1200, 1000, "light"], [1200, 1000, "dark"], [1366, 768, "dark"], [2560, 1300, "light"], [2560, 1300, "dark"]];
  for (const [width, height, scheme] of looks) {
    const opened = await open(driver, file("lessons.html"), { width, height, scheme });
    await turnTo(opened.page, "01-plain-staircase");
    await narrow(opened.page, width);
    await accessible(opened, `before measuring, ${width} ${scheme}`);
    await layCursors(opened.page, "01-plain-staircase");
    await opened.page.focus("#chart");
    await opened.page.keyboard.press("z");
    await opened.page.mouse.move(...(await onSheet(opened.page, 0.42)));
    await settled(opened.page);
    await narrow(opened.page, width);
    const cut = await opened.page.evaluate(() => {
      const { left, right } = document.getElementById("chart").getBoundingClientRect();
      const boxes = [...document.querySelectorAll(".handle.cursor")].map((grip) => grip.getBoundingClientRect());
      return boxes.filter((box) => box.width < 48 || box.left < left || box.right > right).length;
    });
    assert.equal(cut, 0, `a grip is cut off at ${width}`);
    await accessible(opened, `measuring, ${width} ${scheme}`);
    // Where the readings stick to the window, the window is what a person sees.
    const beside = width >= 1200;
    if (!beside) await opened.page.$eval("#overview", (overview) => overview.scrollIntoView());
    await opened.page.screenshot({ path: file(`page-${width}-${scheme}.png`), fullPage: beside });
    if (width === 1200 && scheme === "light") {
      await opened.page.pdf({ path: file("page.pdf"), preferCSSPageSize: true });
      assert.ok(readFileSync(file("page.pdf")).length > 20_000, "it prints nothing");
      await themes(opened.page);
    }
    if (width === 1200 && scheme === "dark") {
      await opened.page.click("#help");
      await accessible(opened, "the list of keys");
      await opened.page.screenshot({ path: file("keys.png") });
      await opened.page.keyboard.press("Escape");
      await opened.page.focus("#chart");
      for (let presses = 0; presses < 40; presses += 1) await opened.page.keyboard.press("+");
      await settled(opened.page);
      await opened.page.screenshot({ path: file("samples.png") });
    }
    quiet(opened);
    await opened.page.close();
  }
}

async function debriefing(driver) {
  for (const [width, scheme] of [[1200, "light"], [360, "dark"]]) {
    const opened = await open(driver, file("debrief.html"), { width, scheme });
    const { page } = opened;
    await turnTo(page, "06-long-lag");
    const story = await text(page, "#answer");
    assert.match(story, /Called 4: neighbour after/);
    assert.match(story, /62 ms/);
    const traces = await page.$$eval("#aids legend", (legends) => legends.map((l) => l.textContent));
    assert.ok(traces.includes("Leak flow 8") && traces.includes("Cylinder 8 pressure, true"), traces.join());
    assert.equal(await page.$("#save"), null, "a debrief asks for no call");
    await narrow(page, width);
    await accessible(opened, `the debrief, ${width} ${scheme}`);
    await page.screenshot({ path: file(`debrief-${width}-${scheme}.png`), fullPage: width >= 1200 });
    quiet(opened);
    await page.close();
  }
}

/** A capture of one sample is drawn, measured and called as any other. */
async function oneSample(driver) {
  const card = json(join(lessons, "03-wasted-spark.card.json"));
  Object.assign(card, { capture: "one", frames: 1 });
  const wav = Buffer.from(readFileSync(join(lessons, "03-wasted-spark.wav")).subarray(0, 44 + 2 * card.channels.length));
  wav.writeUInt32LE(wav.length - 8, 4);
  wav.writeUInt32LE(wav.length - 44, 40);
  writeFileSync(file("one.wav"), wav);
  writeFileSync(file("one.card.json"), JSON.stringify(card));
  run("page", file("one"), "--out", file("one.html"));
  const opened = await open(driver, file("one.html"));
  const { page } = opened;
  await page.focus("#chart");
  for (const key of ["+", "-", "ArrowRight", "a", "b", "c", "g", "z", "1", "2", "d", "s", "PageUp", "f"]) await page.keyboard.press(key);
  await settled(page);
  assert.ok(Number.isFinite((await values(page))["Neck pressure, kPa"].A));
  quiet(opened);
  await page.close();
}

/** A file that lost samples, or its end, says so. */
async function cutShort(driver) {
  const whole = readFileSync(file("lessons.html"), "utf8");
  for (const [cut, words] of [
    [whole.replace(/(id="samples-0">.{2000})[^<]*/, "$1"), /cannot be shown: .* copy it again/],
    [whole.slice(0, whole.length / 2), /If these words stay, the file was cut short/],
  ]) {
    writeFileSync(file("cut.html"), cut);
    const page = await driver.browser.newPage();
    await page.goto(`file://${file("cut.html")}`);
    await page.waitForFunction((source) => new RegExp(source).test(document.getElementById("trouble").textContent), {}, words.source);
    assert.ok(await page.$eval("#trouble", (note) => note.checkVisibility()));
    await page.close();
  }
  rmSync(file("cut.html"));
}

async function main() {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  run("page", lessons, "--out", file("lessons.html"));
  run("page", lessons, "--key", lessons, "--calls", join(scenarios, "sample-calls.csv"), "--out", file("debrief.html"));
  run("quiz", join(scenarios, "quizzes/first-quiz.yaml"), "--seed", "48151", "--out", file("pack"));

  const chrome = await launch("chrome");
  try {
    const opened = await open(chrome, file("lessons.html"));
    await looking(opened);
    const worst = [];
    for (const name of ["01-plain-staircase", "20-odd-firing"]) {
      await measuring(opened, name);
      worst.push(await stripping(opened, name));
      await pointing(opened, name);
      await counting(opened, name);
    }
    await hearing(opened);
    await opened.page.screenshot({ path: file("odd-firing.png") });
    await aids(opened);
    await pinching(opened);
    quiet(opened);
    const called = await calling(chrome, file("pack"));
    for (const size of [[1366, 768], [768, 1024], [360, 780]]) await dragging(chrome, ...size);
    await touching(chrome);
    await pictures(chrome);
    await debriefing(chrome);
    await oneSample(chrome);
    await cutShort(chrome);
    console.log(`end_to_end.js: ${await chrome.browser.version()}: looked, measured (ticks at most ${worst.map((ms) => ms.toFixed(2)).join(" and ")} ms from their TDCs), ${called} calls graded, a quiet console`);
  } finally {
    await chrome.browser.close();
  }
  if (!installed("firefox")) {
    console.log("end_to_end.js: no Firefox is installed here; it was left out");
    return;
  }
  const firefox = await launch("firefox");
  try {
    const opened = await open(firefox, file("lessons.html"));
    await looking(opened);
    await measuring(opened, "01-plain-staircase");
    await stripping(opened, "01-plain-staircase");
    await counting(opened, "01-plain-staircase");
    await accessible(opened, "Firefox");
    await aids(opened);
    await opened.page.screenshot({ path: file("firefox.png") });
    await saving(firefox, opened);
    assert.deepEqual(opened.said, []);
    console.log(`end_to_end.js: ${await firefox.browser.version()}: looked, measured and called, a quiet console`);
  } finally {
    await firefox.browser.close();
  }
}

await main();
