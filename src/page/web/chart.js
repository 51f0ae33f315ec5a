// The sheet with the traces, and the overview above it that shows the whole run.

import { CURSORS } from "./cursors.js";
import { drawAxis, drawInterval, drawName, drawPanel, drawTrace } from "./drawing.js";
import { across, down, GRIP, layOut } from "./layout.js";
import { drawFirings, drawGas, drawGuides, drawLags, drawTdcs } from "./marks.js";

/** Colours of the style, by their names there. */
const COLOURS = { sheet: "--sheet", ink: "--ink", soft: "--soft", line: "--line", faint: "--faint", mark: "--mark", onMark: "--on-mark", gas: "--gas", shade: "--shade", focus: "--focus" };
/** Width on which the sheet is drawn for paper, pixels. */
const PAPER_WIDTH = 960;

/** Draws the desk whenever it changed, once a frame. */
export class Chart {
  constructor(desk, box, canvas, overview) {
    Object.assign(this, { desk, box, canvas, overview, width: 0, pending: false, whenDrawn: [] });
    new ResizeObserver(() => this.resize()).observe(box);
    addEventListener("resize", () => this.ask());
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.recolour());
    addEventListener("beforeprint", () => this.print(true));
    addEventListener("afterprint", () => this.print(false));
    this.recolour();
  }

  /** Panels that are shown, each with its trace. */
  get panels() {
    const shown = this.desk.traces.filter((trace) => trace.shown);
    return shown.map((trace, i) => ({ trace, panel: this.layout.panels[i] }));
  }

  resize() {
    const width = Math.floor(this.box.clientWidth);
    if (width > 0 && width !== this.width && !this.onPaper) {
      this.width = width;
      this.draw();
    }
  }

  recolour() {
    const probe = document.createElement("span");
    this.box.append(probe);
    this.colours = {};
    for (const [name, property] of Object.entries(COLOURS)) {
      probe.style.color = `var(${property})`;
      this.colours[name] = getComputedStyle(probe).color;
    }
    probe.remove();
    this.ask();
  }

  print(begins) {
    this.onPaper = begins;
    document.documentElement.toggleAttribute("data-printing", begins);
    this.recolour();
    this.width = begins ? PAPER_WIDTH : Math.floor(this.box.clientWidth);
    this.draw();
  }

  /** Asks for a drawing with the next frame. */
  ask() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      this.draw();
    });
  }

  /** A canvas of a size in pixels of the page, as sharp as the screen. */
  sized(canvas, width, height) {
    const sharp = Math.min(devicePixelRatio || 1, 2);
    if (canvas.width !== Math.round(width * sharp) || canvas.height !== Math.round(height * sharp)) {
      canvas.width = Math.round(width * sharp);
      canvas.height = Math.round(height * sharp);
      canvas.style.aspectRatio = `${width} / ${height}`;
    }
    const paint = canvas.getContext("2d", { alpha: false });
    paint.setTransform(sharp, 0, 0, sharp, 0, 0);
    paint.fillStyle = this.colours.sheet;
    paint.fillRect(0, 0, width, height);
    return paint;
  }

  draw() {
    const { desk, colours } = this;
    if (!desk.view || this.width === 0) return;
    const { view, story, firings, pointed } = desk;
    const room = { height: this.onPaper ? Infinity : innerHeight, below: !matchMedia("(min-width: 62rem)").matches };
    const lanes = { tdc: Boolean(story) && desk.drawn.tdcs, firing: Boolean(desk.strip) };
    this.layout = layOut(this.width, room, desk.traces.filter((t) => t.shown).length, lanes);
    const { layout, panels } = this;
    const paint = this.sized(this.canvas, layout.width, layout.height);
    this.words(paint, { firing: "Firing", tdc: "TDC" });
    const necks = panels.filter(({ trace }) => trace.isNeck).map(({ panel }) => panel);
    if (story && desk.drawn.gas) drawGas(paint, colours, layout, view, story, necks);
    for (const { trace, panel } of panels) {
      drawPanel(paint, colours, layout, panel, view, trace, trace === desk.selected);
    }
    if (lanes.tdc) drawTdcs(paint, colours, layout, view, story);
    for (const { trace, panel } of panels) drawTrace(paint, layout, panel, view, trace);
    if (desk.strip) drawFirings(paint, colours, layout, view, desk.strip.list);
    if (pointed) drawGuides(paint, colours, layout, view, firings, pointed);
    if (story && desk.drawn.lag && necks.length > 0) drawLags(paint, colours, layout, view, story, necks[0]);
    this.cursors(paint);
    for (const { trace, panel } of panels) {
      this.levels(paint, trace, panel);
      drawName(paint, colours, layout, panel, trace);
    }
    drawAxis(paint, colours, layout, view);
    this.whole();
    for (const place of this.whenDrawn) place();
  }

  /** The strips' grounds, and their names. */
  words(paint, words) {
    const { layout, colours } = this;
    paint.font = "11px system-ui, sans-serif";
    paint.textAlign = "left";
    paint.textBaseline = "middle";
    for (const [name, top] of Object.entries(layout.strips)) {
      paint.fillStyle = colours.shade;
      paint.fillRect(0, top, layout.width, GRIP - 2);
      paint.fillStyle = colours.soft;
      paint.fillText(words[name], 6, top + GRIP / 2);
    }
  }

  /** The time cursors with the interval between them, and the thin line where one reads. */
  cursors(paint) {
    const { desk, layout, colours } = this;
    const lines = [[desk.here, 1, colours.line, layout.top], ...desk.cursors.times.map((time) => [time, 1.5, colours.ink, 0])];
    for (const [time, width, colour, top] of lines) {
      if (time === null || time < desk.view.from || time > desk.view.to) continue;
      paint.strokeStyle = colour;
      paint.lineWidth = width;
      const x = across(layout, desk.view, time);
      paint.beginPath();
      paint.moveTo(x, top);
      paint.lineTo(x, layout.bottom - 4);
      paint.stroke();
    }
    if (desk.cursors.between) drawInterval(paint, colours, layout, desk.view, desk.cursors);
    if (this.onPaper) this.names(paint);
  }

  /** The cursors' names, where paper has no grips. */
  names(paint) {
    paint.font = "600 13px system-ui, sans-serif";
    paint.textAlign = "right";
    paint.textBaseline = "top";
    paint.fillStyle = this.colours.ink;
    this.desk.cursors.times.forEach((time, i) => {
      const x = time === null ? -1 : across(this.layout, this.desk.view, time);
      if (x >= this.layout.left && x <= this.layout.left + this.layout.plot) paint.fillText(CURSORS[i], x - 5, 4);
    });
  }

  levels(paint, trace, panel) {
    for (const count of trace.levels) {
      if (count === null) continue;
      const y = down(panel, trace.range, trace.value(count));
      if (y < panel.top || y > panel.bottom) continue;
      paint.strokeStyle = this.colours.ink;
      paint.lineWidth = 1;
      paint.setLineDash([9, 3, 2, 3]);
      paint.beginPath();
      paint.moveTo(this.layout.left, y);
      paint.lineTo(this.layout.left + this.layout.plot, y);
      paint.stroke();
      paint.setLineDash([]);
    }
  }

  /** The whole run of the selected trace, with a frame around what is seen. */
  whole() {
    const { desk, layout, colours } = this;
    const height = 44;
    const paint = this.sized(this.overview, layout.width, height);
    const { view } = desk;
    const whole = { start: view.start, from: view.start, to: view.start + view.whole, width: view.whole };
    const panel = { top: 4, bottom: height - 4 };
    const trace = desk.selected ?? desk.traces[0];
    const place = (time) => layout.left + ((time - view.start) / view.whole) * layout.plot;
    const [from, to] = [place(view.from), place(view.to)];
    paint.fillStyle = colours.shade;
    paint.fillRect(0, 0, layout.width, height);
    paint.fillStyle = colours.sheet;
    paint.fillRect(from, 1, Math.max(to - from, 2), height - 1);
    if (trace) drawTrace(paint, layout, panel, whole, trace);
    desk.cursors.times.forEach((time, i) => {
      if (time === null) return;
      paint.fillStyle = colours.ink;
      paint.fillRect(place(time) - 0.5, 0, 1, height);
      paint.font = "600 11px system-ui, sans-serif";
      paint.textAlign = "left";
      paint.textBaseline = "top";
      paint.fillText(CURSORS[i], place(time) + 3, 2);
    });
    paint.strokeStyle = colours.ink;
    paint.lineWidth = 1.5;
    paint.strokeRect(from, 1, Math.max(to - from, 2), height - 2);
    paint.font = "11px system-ui, sans-serif";
    paint.textAlign = "left";
    paint.textBaseline = "middle";
    paint.fillStyle = colours.soft;
    paint.fillText("Run", 6, height / 2);
  }
}
