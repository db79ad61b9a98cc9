// A tablet for the tests: Chromium with touch, told by lines of JSON what to do; answers each with a line of JSON.
// What stands on the screen is read by a terminal of its own (@xterm/headless) from the bytes that reached the page.
import { createRequire } from "node:module";
import { createInterface } from "node:readline";

const [modules, executablePath] = process.argv.slice(2);
const require = createRequire(modules + "/");
const { chromium } = require("playwright-core");
const { Terminal } = require("@xterm/headless");

// Dots a pixel of the real screen, not only of the emulated one: the terminal measures it in both ways.
const DOTS = 2;
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--force-color-profile=srgb", `--force-device-scale-factor=${DOTS}`] });
let context, page, terminal;
const requests = [], troubles = [], sent = [];

function follow(socket) {
  const query = new URL(socket.url()).searchParams;
  requests.push(socket.url());
  terminal = new Terminal({ cols: +query.get("width"), rows: +query.get("height"), allowProposedApi: true, scrollback: 0 });
  socket.on("framereceived", ({ payload }) => { if (typeof payload !== "string") terminal.write(payload); });
  socket.on("framesent", ({ payload }) => {
    const message = JSON.parse(payload);
    sent.push(message);
    if (message[0] === "resize") terminal.resize(message[1].width, message[1].height);
  });
}

function lines() {
  if (!terminal) return [];
  const rows = [...Array(terminal.rows).keys()];
  return rows.map((row) => terminal.buffer.active.getLine(row)?.translateToString(true) ?? "");
}

async function until(found, what) {
  const end = Date.now() + 30000;
  while (Date.now() < end) {
    const value = await found();
    if (value) return value;
    await new Promise((done) => setTimeout(done, 40));
  }
  throw new Error(`not seen: ${what}\n${lines().join("\n")}`);
}

// Where words stand; `beside` is a pattern of their line, where the words alone stand in several.
function place(text, beside = "") {
  const row = lines().findIndex((line) => line.includes(text) && new RegExp(beside).test(line));
  return row < 0 ? null : { row, column: lines()[row].indexOf(text) + text.length / 2 };
}

// A screen that has stopped moving: a person taps what stands still.
async function settled() {
  let seen = "";
  await until(async () => {
    const before = seen;
    seen = lines().join("\n");
    await new Promise((done) => setTimeout(done, 160));
    return before === seen;
  }, "a screen that stands still");
}

async function tapCell(row, column) {
  const box = await page.locator(".xterm-screen").boundingBox();
  await page.touchscreen.tap(
    box.x + ((column + 0.5) / terminal.cols) * box.width,
    box.y + ((row + 0.5) / terminal.rows) * box.height,
  );
}

const DO = {
  async open({ url, width, height }) {
    if (context) await DO.close();
    context = await browser.newContext({
      viewport: { width, height }, hasTouch: true, isMobile: true, deviceScaleFactor: DOTS, ignoreHTTPSErrors: true,
    });
    page = await context.newPage();
    page.setDefaultTimeout(10000);
    page.on("request", (request) => requests.push(request.url()));
    page.on("console", (message) => { if (["error", "warning"].includes(message.type())) troubles.push(message.text()); });
    page.on("pageerror", (error) => troubles.push(String(error)));
    page.on("websocket", follow);
    await page.goto(url);
  },
  async wait({ text }) { await until(() => place(text), text); },
  async gone({ text }) { await until(() => !place(text), "the end of " + text); },
  async words({ text }) { await until(() => page.getByText(text).first().isVisible(), text); },
  async see() { return lines(); },
  async tap({ text, beside }) {
    await until(() => place(text, beside), text);
    await settled();
    const at = await until(() => place(text, beside), text);
    await tapCell(at.row, at.column);
  },
  async key({ name }) { await page.locator(`#keys [data-keys=${name}]`).tap(); },
  async press({ selector }) { await page.locator(selector).tap(); },
  async type({ text }) { await page.keyboard.type(text); },
  async swipe({ from, to }) {
    const box = await page.locator(".xterm-screen").boundingBox();
    const touch = await context.newCDPSession(page);
    const at = (part) => [{ x: box.x + box.width / 2, y: box.y + part * box.height }];
    await touch.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: at(from) });
    for (let i = 1; i <= 10; i++) {
      await touch.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: at(from + ((to - from) * i) / 10) });
    }
    await touch.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  },
  async size({ width, height }) { await page.setViewportSize({ width, height }); },
  async cut() { await context.setOffline(true); },
  async join() { await context.setOffline(false); },
  async shot({ path }) { await page.screenshot({ path }); },
  async run({ code }) { return page.evaluate(code); },
  async facts() {
    const boxes = await page.locator("#keys button").evaluateAll((all) => all.map((one) => {
      const box = one.getBoundingClientRect();
      const spills = one.scrollWidth > one.clientWidth;
      return { words: one.textContent, x: box.x, y: box.y, width: box.width, height: box.height, spills };
    }));
    const screen = await page.locator(".xterm-screen").boundingBox();
    const px = await page.evaluate(() => Number(document.getElementById("terminal").dataset.fontSize));
    return { requests, troubles, sent, boxes, screen, px, columns: terminal?.cols, rows: terminal?.rows };
  },
  async close() {
    await context.close();
    requests.length = troubles.length = sent.length = 0;
    context = terminal = undefined;
  },
};

for await (const line of createInterface({ input: process.stdin })) {
  const order = JSON.parse(line);
  try {
    console.log(JSON.stringify({ value: (await DO[order.do](order)) ?? null }));
  } catch (error) {
    console.log(JSON.stringify({ error: String(error.message ?? error) }));
  }
}
await browser.close();
