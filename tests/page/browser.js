// An installed browser with one page in it, watched: what it says, what it asks of a network.

import { mkdtempSync, existsSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import puppeteer from "puppeteer-core";

const PROGRAMS = {
  chrome: ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"],
  firefox: ["/usr/bin/firefox-esr", "/usr/bin/firefox"],
};
// No name resolves: whatever asked for a network would fail, and say so on the console.
const OFFLINE = ["--no-sandbox", "--disable-gpu", "--disable-extensions", "--no-first-run", "--hide-scrollbars", "--host-resolver-rules=MAP * ~NOTFOUND"];

/** Whether a browser of this kind is installed. */
export function installed(kind) {
  return PROGRAMS[kind].some(existsSync);
}

/** Opens a browser; whoever opened it closes it. */
export async function launch(kind) {
  const executablePath = PROGRAMS[kind].find(existsSync);
  if (!executablePath) throw new Error(`no ${kind} is installed`);
  const downloads = mkdtempSync(join(tmpdir(), "waterjacket-page-"));
  const browser = await puppeteer.launch({
    browser: kind,
    executablePath,
    args: kind === "chrome" ? OFFLINE : [],
    extraPrefsFirefox: {
      "browser.download.dir": downloads,
      "browser.download.folderList": 2,
      "browser.download.always_ask_before_handling_new_types": false,
    },
    downloadBehavior: kind === "chrome" ? { policy: "allow", downloadPath: downloads } : undefined,
  });
  return { browser, downloads };
}

/** Opens a file in a page that notes all it says and loads. */
export async function open({ browser }, file, { width = 1200, height = 1000, scheme = "light", touch = false } = {}) {
  const page = await browser.newPage();
  const said = [];
  const loaded = [];
  page.on("console", (message) => said.push(`${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => said.push(`error: ${error.message}`));
  page.on("request", (request) => loaded.push(request.url()));
  await page.setViewport({ width, height, hasTouch: touch, isMobile: touch });
  // Firefox takes the scheme of its own setting only.
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]).catch(() => {});
  await page.goto(`file://${file}`);
  await page.waitForFunction(() => document.querySelectorAll("#aids fieldset").length > 0);
  await settled(page);
  return { page, said, loaded };
}

/** Waits until what was asked for is drawn. */
export async function settled(page) {
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** The reading of a tile, as a number. */
export async function reading(page, term) {
  return page.evaluate((wanted) => {
    const tile = [...document.querySelectorAll("#tiles > div")].find((t) => t.firstChild.textContent === wanted);
    return Number.parseFloat(tile.lastChild.textContent.replace("\u2212", "-"));
  }, term);
}

/** The time window of the sheet, read off its own axis: where its plot begins and ends. */
export function plotOf(width) {
  const narrow = width < 560;
  const left = narrow ? 48 : 64;
  return { left, right: width - (narrow ? 8 : 14) };
}

/** Text of a downloaded file, once it is whole. */
export async function downloaded(folder, name) {
  const path = join(folder, name);
  for (let tries = 0; tries < 100; tries += 1) {
    if (existsSync(path)) return readFileSync(path, "utf8");
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`${name} was not saved`);
}
