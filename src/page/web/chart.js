// The sheet with the traces, and the strip above it that shows the whole run.

import { across, down, LANE, layOut } from "./layout.js";
import { drawCount, drawGas, drawLags, drawTdcs } from "./marks.js";
import { drawAxis, drawName, drawPanel, drawTrace } from "./drawing.js";
import { RULERS } from "./rulers.js";

/** Colours of the style, by their names there. */
const COLOURS = { sheet: "--sheet", ink: "--ink", soft: "--soft", line: "--line", faint: "--faint", mark: "--mark", onMark: "--on-mark", gas: "--gas", shade: "--shade" };
/** Width on which the sheet is drawn for paper, pixels. */
const PAPER_WIDTH = 960;

/** Draws the desk whenever it changed, once a frame. */
export class Chart {
  constructor(desk, box, canvas, strip) {
    Object.assign(this, { desk, box, canvas, strip, width: 0, pending: false, onDrawn: () => {} });
    new ResizeObserver(() => this.resize()).observe(box);
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
    this.stripKey = "";
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
    const { view, rulers, story, capture } = desk;
    const marks = rulers.marks(capture.order, capture.intervals);
    const lanes = ["rulers"];
    if (marks.length > 0) lanes.push("count");
    if (story && desk.drawn.tdcs) lanes.push("tdc");
    this.layout = layOut(this.width, desk.traces.filter((t) => t.shown).length, lanes);
    const { layout, panels } = this;
    const paint = this.sized(this.canvas, layout.width, layout.height);
    this.words(paint, { rulers: "Rulers", count: "Count", tdc: "TDC" });
    const necks = panels.filter(({ trace }) => trace.channel.neck).map(({ panel }) => panel);
    if (story && desk.drawn.gas) drawGas(paint, colours, layout, view, story, necks);
    for (const { trace, panel } of panels) {
      drawPanel(paint, colours, layout, panel, view, trace, trace === desk.selected);
    }
    if (story && desk.drawn.tdcs) drawTdcs(paint, colours, layout, view, story);
    for (const { trace, panel } of panels) drawTrace(paint, layout, panel, view, trace);
    drawCount(paint, colours, layout, view, marks);
    if (story && desk.drawn.lag && necks.length > 0) drawLags(paint, colours, layout, view, story, necks[0]);
    this.uprights(paint);
    for (const { trace, panel } of panels) {
      this.levels(paint, trace, panel);
      drawName(paint, colours, layout, panel, trace);
    }
    drawAxis(paint, colours, layout, view);
    this.overview();
    this.onDrawn();
  }

  words(paint, words) {
    paint.font = "11px system-ui, sans-serif";
    paint.textAlign = "left";
    paint.textBaseline = "middle";
    for (const [lane, top] of Object.entries(this.layout.lanes)) {
      paint.fillStyle = this.colours.shade;
      paint.fillRect(0, top, this.layout.width, LANE - 1);
      paint.fillStyle = this.colours.soft;
      paint.fillText(words[lane], 6, top + LANE / 2);
    }
  }

  /** Rulers, and the thin line where one reads. */
  uprights(paint) {
    const { desk, layout, colours } = this;
    const lines = [...desk.rulers.times.map((time) => [time, 1.5, colours.ink]), [desk.here, 1, colours.line]];
    for (const [time, width, colour] of lines) {
      if (time === null || time < desk.view.from || time > desk.view.to) continue;
      paint.strokeStyle = colour;
      paint.lineWidth = width;
      const x = across(layout, desk.view, time);
      paint.beginPath();
      paint.moveTo(x, layout.top);
      paint.lineTo(x, layout.bottom - 4);
      paint.stroke();
    }
    if (this.onPaper) this.names(paint);
  }

  /** The rulers' names, where paper has no tabs. */
  names(paint) {
    paint.font = "600 13px system-ui, sans-serif";
    paint.textAlign = "center";
    paint.textBaseline = "middle";
    paint.fillStyle = this.colours.ink;
    this.desk.rulers.times.forEach((time, i) => {
      const x = time === null ? -1 : across(this.layout, this.desk.view, time);
      if (x >= this.layout.left && x <= this.layout.left + this.layout.plot) paint.fillText(RULERS[i], x, LANE / 2);
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
  overview() {
    const { desk, layout, colours } = this;
    const height = 44;
    const paint = this.sized(this.strip, layout.width, height);
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
    desk.rulers.times.forEach((time, i) => {
      if (time === null) return;
      paint.fillStyle = colours.ink;
      paint.fillRect(place(time) - 0.5, 0, 1, height);
      paint.font = "600 11px system-ui, sans-serif";
      paint.textAlign = "left";
      paint.textBaseline = "top";
      paint.fillText(RULERS[i], place(time) + 3, 2);
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
