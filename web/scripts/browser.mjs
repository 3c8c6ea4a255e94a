// Opens a report in a real browser, every foreign host blocked, and checks that it reads with scripts off, that the
// replay scrubs, plays and turns with the keyboard, and that nothing asks for the network.
//
//   npm run test:browser -- path/to/report.html [folder for screenshots]
import { existsSync, mkdirSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [report, shots] = process.argv.slice(2);
if (!report || !existsSync(report)) {
  console.error(`no report at ${report ?? "(nothing given)"}\n  mend: npm run test:browser -- path/to/report.html`);
  process.exit(2);
}
const executablePath = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find((p) => p && existsSync(p));
if (!executablePath) {
  console.error("no Chromium found\n  mend: apt-get install chromium, or set CHROMIUM to the browser's path");
  process.exit(2);
}
const address = pathToFileURL(resolve(report)).href;
if (shots) mkdirSync(shots, { recursive: true });

const faults = [];
const check = (holds, words) => {
  console.log(`${holds ? "ok  " : "FAIL"} ${words}`);
  if (!holds) faults.push(words);
};

const browser = await chromium.launch({
  executablePath,
  args: [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
  ],
});

/** A page on which every request but the report itself is refused and noted. */
async function opened(options) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const noise = [];
  const foreign = [];
  page.on("console", (m) => ["error", "warning"].includes(m.type()) && noise.push(m.text()));
  page.on("pageerror", (e) => noise.push(String(e)));
  await context.route("**/*", (route) => {
    const url = route.request().url();
    if (url === address || url.startsWith("data:") || url.startsWith("blob:")) return route.continue();
    foreign.push(url);
    return route.abort();
  });
  await page.goto(address, { waitUntil: "load" });
  return { context, page, noise, foreign };
}

/** Fits in its width: nothing makes the page scroll sideways. */
const fits = (page) => page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth);

/** The picture on the canvas as one number, so that two can be told apart. */
const pictured = (page) => page.locator(".stage-view").screenshot().then((png) => png.toString("base64"));

async function withoutScripts() {
  const { context, page, foreign } = await opened({ javaScriptEnabled: false });
  check((await page.locator("h1").innerText()).length > 20, "scripts off: the verdict stands as a sentence");
  for (const id of ["verdict", "lap", "moments", "still", "inputs", "known", "method", "cautions"]) {
    check(await page.locator(`#${id}`).isVisible(), `scripts off: section "${id}" is there`);
  }
  check((await page.locator("figure svg:visible").count()) >= 4, "scripts off: pictures are drawn");
  check(await page.locator(".still-only").isVisible(), "scripts off: the replay says why it is not there");
  check(foreign.length === 0, `scripts off: nothing is asked of the network ${foreign.join(" ")}`);
  await context.close();
}

async function replayed() {
  const { context, page, noise, foreign } = await opened({});
  const time = page.locator("#replay-time");
  await time.waitFor({ timeout: 20000 });
  const slider = page.locator('#replay-stage input[type="range"]');
  const stage = page.locator(".stage-view");
  await stage.scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelectorAll(".stage-word").length > 0);
  const [before, first] = [await time.innerText(), await pictured(page)];
  if (shots) await page.locator("#replay").screenshot({ path: `${shots}/replay.png` });

  await slider.evaluate((s) => {
    s.value = s.min;
    s.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await page.waitForTimeout(900);
  const second = await pictured(page);
  check((await time.innerText()) !== before, "scrubbing changes the time");
  check(second !== first, "scrubbing changes the picture");
  check(/mm|in/.test(await page.locator("#replay-cover").innerText()), "the cover carries its unit");

  await slider.focus();
  const at = await time.innerText();
  await page.keyboard.press("ArrowRight");
  check((await time.innerText()) !== at, "the scrubber moves by key");
  check((await slider.getAttribute("aria-valuetext")).includes("s, "), "the scrubber is read out in words");

  await stage.focus();
  const unturned = await pictured(page);
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("+");
  await page.waitForTimeout(900);
  check((await pictured(page)) !== unturned, "keys turn and zoom the pan");
  check((await stage.getAttribute("aria-label")).includes("mouth"), "the picture is told in words");

  const start = await time.innerText();
  await page.getByRole("button", { name: "Play" }).click();
  await page.waitForFunction((t) => document.getElementById("replay-time")?.textContent !== t, start, { timeout: 15000 });
  check(true, "playing moves the time");
  await page.getByRole("button", { name: "Stop" }).click();

  const chooser = page.getByLabel("moment", { exact: true });
  const count = await chooser.locator("option").count();
  if (count > 1) {
    await chooser.selectOption(String(count - 1));
    check((await page.locator("#replay-stage .stage-read").innerText()).length > 0, "another moment can be chosen");
  }
  check(await fits(page), "1280 px: nothing scrolls sideways");
  if (shots) await page.screenshot({ path: `${shots}/desk.png`, fullPage: true });
  // Chromium's software renderer warns of its own slowness when the picture is read back; that is no fault of ours.
  const real = noise.filter((n) => !/GPU stall|software WebGL|swiftshader/i.test(n));
  check(real.length === 0, `no errors or warnings on the console ${real.join(" | ")}`);
  check(foreign.length === 0, `nothing is asked of the network ${foreign.join(" ")}`);
  await context.close();
}

async function onPaperAndPhone() {
  const phone = await opened({ viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, hasTouch: true });
  await phone.page.locator("#replay-time").waitFor({ timeout: 20000 });
  check(await fits(phone.page), "360 px: nothing scrolls sideways");
  const small = await phone.page.evaluate(() => [...document.querySelectorAll("button, select, input")].filter((e) => e.getBoundingClientRect().height < 40).length);
  check(small === 0, "360 px: every control is large enough for a finger");
  if (shots) await phone.page.screenshot({ path: `${shots}/phone.png`, fullPage: true });
  await phone.context.close();

  const dark = await opened({ colorScheme: "dark", reducedMotion: "reduce" });
  await dark.page.locator("#replay-time").waitFor({ timeout: 20000 });
  const ground = await dark.page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  check(ground !== "rgb(251, 250, 246)", `dark: the ground is dark (${ground})`);
  if (shots) await dark.page.screenshot({ path: `${shots}/dark.png`, fullPage: true });
  if (shots) for (const format of ["A4", "Letter"]) await dark.page.pdf({ path: `${shots}/${format}.pdf`, format });
  await dark.page.emulateMedia({ media: "print" });
  check(!(await dark.page.locator("#replay").isVisible()), "print: the replay is left out");
  check(await dark.page.locator("#sections, #lap").first().isVisible(), "print: the pictures stay");
  await dark.context.close();
}

async function withoutWebGl() {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.addInitScript(() => {
    HTMLCanvasElement.prototype.getContext = () => null;
  });
  await page.goto(address);
  await page.locator("#replay-stage [role=status]").waitFor({ timeout: 20000 });
  check((await page.locator("#replay-stage svg:visible").count()) > 0, "without WebGL a drawing stands in");
  await context.close();
}

try {
  await withoutScripts();
  await replayed();
  await onPaperAndPhone();
  await withoutWebGl();
} finally {
  await browser.close();
}
console.log(faults.length === 0 ? "the report holds in the browser" : `${faults.length} checks failed`);
process.exit(faults.length === 0 ? 0 : 1);
