// Opens the page of `sumpwright open` in a real browser, against the real program and a copy of a worked example, and uses it as
// a builder would: tilt, scrub, change, save, compare, prove, stop, come back, by hand and by keyboard, wide and narrow.
//
//   npm run test:page -- path/to/sumpwright path/to/example/design.toml [folder for screenshots]
import { execFileSync, spawn } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { chromium } from "playwright-core";

const [program, example, shots] = process.argv.slice(2);
if (!program || !example || !existsSync(program) || !existsSync(example)) {
  console.error("npm run test:page -- path/to/sumpwright path/to/design.toml [folder for screenshots]");
  process.exit(2);
}
const executablePath = [process.env.SUMPWRIGHT_CHROMIUM, process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find(
  (p) => p && existsSync(p),
);
if (!executablePath) {
  console.error("no Chromium found\n  mend: apt-get install chromium, or set SUMPWRIGHT_CHROMIUM to the browser's path");
  process.exit(2);
}
if (shots) mkdirSync(shots, { recursive: true });

const faults = [];
const check = (holds, words) => {
  console.log(`${holds ? "ok  " : "FAIL"} ${words}`);
  if (!holds) faults.push(words);
};

const folder = mkdtempSync(join(tmpdir(), "sumpwright-page-"));
const project = join(folder, "project");
cpSync(dirname(resolve(example)), project, { recursive: true });
const design = basename(example);
const tool = resolve(program);

/** Starts the server; resolves with its address. */
function serve() {
  const child = spawn(tool, ["open", design, "--no-browser"], { cwd: project });
  let said = "";
  const address = new Promise((done, fail) => {
    child.stdout.on("data", (text) => {
      said += text;
      const found = said.match(/http:\/\/\S+/);
      if (found) done(found[0]);
    });
    child.stderr.on("data", (text) => (said += text));
    child.on("exit", (code) => fail(new Error(`open ended with ${code}: ${said}`)));
  });
  return { child, address };
}

const ended = (child) =>
  new Promise((done) => {
    if (child.exitCode !== null || child.signalCode !== null) done();
    else child.on("exit", done);
    child.kill("SIGINT");
  });

let server = serve();
let address = await server.address;
const port = new URL(address).port;
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
const WAIT = { timeout: 60_000 };

async function opened(options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, acceptDownloads: true, ...options });
  const page = await context.newPage();
  const noise = [];
  const foreign = [];
  page.on("console", (m) => m.type() === "error" && noise.push(m.text()));
  page.on("pageerror", (e) => noise.push(String(e)));
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(new URL(address).origin) && !url.startsWith("blob:") && !url.startsWith("data:")) foreign.push(url);
  });
  await page.goto(address);
  await page.locator(".numbers .big").first().waitFor(WAIT);
  return { context, page, noise, foreign };
}

const verdict = (page) => page.locator("h1").innerText();
const least = (page) => page.locator(".numbers .big").first().innerText();
const fits = (page) => page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth);
const becomes = async (read, holds) => {
  for (let n = 0; n < 200; n++) {
    const found = await read();
    if (holds(found)) return found;
    await new Promise((done) => setTimeout(done, 150));
  }
  return read();
};
const shot = async (page, name) => shots && page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });

try {
  const { context, page, noise, foreign } = await opened();
  const told = JSON.parse(execFileSync(tool, ["bays", design, "--json"], { cwd: project, maxBuffer: 1 << 28 }).toString());
  check((await verdict(page)) === told.sentence, "the verdict is that of `bays --json`");
  check(!page.url().includes("#"), "the token is taken out of the address");
  await shot(page, "wide");

  // Tilt by hand, from the keyboard.
  const when = page.locator("#bench .stand-when");
  await page.locator("svg.round").focus();
  for (let n = 0; n < 12; n++) await page.keyboard.press("ArrowUp");
  await becomes(() => when.innerText(), (t) => t.includes("at rest"));
  check((await when.innerText()).includes("at rest under a steady pull"), "arrow keys on the round map tilt the oil");
  const still = JSON.parse(execFileSync(tool, ["still", design, "--json"], { cwd: project, maxBuffer: 1 << 28 }).toString());
  check(still.dipstick.length > 0, "`still --json` answers too");
  await page.keyboard.press("0");
  check((await becomes(() => when.innerText(), (t) => t.includes("pull 1.00 g"))).includes("pull 1.00 g"), "0 stands it still");

  // Scrub.
  const slider = page.getByLabel("time in the drive");
  await slider.focus();
  await page.keyboard.press("Home");
  for (let n = 0; n < 5; n++) await page.keyboard.press("PageUp");
  check((await becomes(() => when.innerText(), (t) => t.includes("on the drive"))).includes("on the drive"), "the slider scrubs the drive");
  await page.locator(".marks button").first().click();
  check((await page.locator("#drive .stage-read").innerText()).includes("over the mouth"), "a mark leads to its moment");

  // Change, see, take back.
  const before = await least(page);
  const fill = page.getByLabel("fill", { exact: true });
  const number = Number(await fill.inputValue());
  await fill.fill(String(number + 1));
  await fill.press("Enter");
  const after = await becomes(() => least(page), (t) => t !== before);
  check(after !== before, `a litre more changes the verdict's number (${before} to ${after})`);
  check((await page.locator("#change ul li").first().innerText()).length > 5, "the difference stands as text");
  await shot(page, "changed");
  await page.reload();
  await page.locator(".numbers .big").first().waitFor(WAIT);
  check((await becomes(() => least(page), (t) => t === after)) === after, "changes outlive a reload");
  await page.locator("h1").click();
  await page.keyboard.press("Control+z");
  check((await becomes(() => least(page), (t) => t === before)) === before, "undo brings the number back");
  await page.keyboard.press("Control+y");
  await becomes(() => least(page), (t) => t === after);

  // A change that does not go.
  await fill.fill("500");
  await fill.press("Enter");
  const complaint = page.locator("#change .control .warning:visible");
  await complaint.first().waitFor(WAIT);
  check((await complaint.first().innerText()).length > 10, "a fault stands at its control");
  await page.keyboard.press("Control+z");
  await page.locator("#change").getByRole("button", { name: "Undo" }).click();
  await becomes(() => complaint.count(), (n) => n === 0);

  // Side by side.
  await page.locator("#beside select").selectOption("saved");
  await page.locator("#beside .panel .hero b").nth(1).waitFor(WAIT);
  const clocks = (await page.locator("#beside .stand-when").allInnerTexts()).map((t) => t.split(";")[0]);
  check(clocks.length === 2 && clocks[0] === clocks[1], `the saved pan stands beside it at the same moment (${clocks[0]})`);

  // Keep it.
  await fill.fill(String(number + 0.5));
  await fill.press("Enter");
  await page.locator("#save-file").waitFor(WAIT);
  await page.locator("#save-name").fill("Half a litre more");
  await page.locator("#save-file").fill("half-more.toml");
  await page.getByRole("button", { name: "Save as a revision" }).click();
  await becomes(async () => existsSync(join(project, "half-more.toml")), Boolean);
  const text = readFileSync(join(project, "half-more.toml"), "utf8");
  check(text.includes(`base = "${design}"`) && text.includes("fill"), "a revision names its base and states its change");
  await becomes(() => page.locator("#design").inputValue(), (v) => v === "half-more.toml");
  check((await page.locator("#design").inputValue()) === "half-more.toml", "the new design is the one shown");

  // Runs.
  const runs = page.locator(".runs > li");
  await page.getByRole("button", { name: "Report of the sketch" }).click();
  await becomes(() => runs.first().innerText(), (t) => t.includes("done"));
  check((await runs.first().innerText()).includes("bays.html"), "a report of the sketch is made");
  const [got] = await Promise.all([page.waitForEvent("download", WAIT), runs.first().getByRole("button", { name: /bays\.html$/ }).click()]);
  check(readFileSync(await got.path(), "utf8").startsWith("<!doctype html>"), "and downloaded");
  await page.getByLabel(/cell size/).fill("8 mm");
  await page.getByRole("button", { name: "Prove this pan" }).click();
  await becomes(() => runs.first().innerText(), (t) => t.includes("computes"));
  await becomes(() => runs.first().getByRole("button", { name: "Watch the oil" }).isVisible(), Boolean);
  await runs.first().getByRole("button", { name: "Watch the oil" }).click();
  await runs.first().locator(".hero b").waitFor(WAIT);
  check((await runs.first().locator(".stand-when").innerText()).includes("as the solver has it"), "a run is watched while it computes");
  await shot(page, "proof");
  await runs.first().getByRole("button", { name: "Stop" }).click();
  check((await becomes(() => runs.first().innerText(), (t) => t.includes("stopped"))).includes("stopped"), "a proof stops");

  // Close and come back, with another server.
  await ended(server.child);
  await page.getByText("does not answer").first().waitFor(WAIT);
  check(true, "the page says that the program is gone");
  server = serve();
  address = await server.address;
  await page.goto("about:blank");
  await page.goto(address);
  await page.locator(".numbers .big").first().waitFor(WAIT);
  await becomes(() => runs.count(), (n) => n >= 2);
  check((await runs.first().innerText()).includes("stopped"), "runs are there after the server was started again");
  check(new URL(address).port === port, "the program listens at the folder's own port again");
  const drafts = await page.evaluate(() => Object.keys(localStorage).filter((key) => key.startsWith("sumpwright-draft")).length);
  check(drafts > 0, "and the browser has the changes that it kept");
  await runs.first().getByRole("button", { name: "Go on" }).click();
  check((await becomes(() => runs.first().innerText(), (t) => t.includes("computes"))).includes("computes"), "a stopped proof goes on");
  await runs.first().getByRole("button", { name: "Stop" }).click();
  await becomes(() => runs.first().innerText(), (t) => t.includes("stopped"));

  // The report's own sections.
  await page.locator("#part-feed summary").first().click();
  await becomes(() => page.locator("#part-feed .section").innerText(), (t) => t.length > 40);
  check((await page.locator("#part-feed .section").innerText()).length > 40, "the suction side has its place");

  // Edited elsewhere, broken, mended, gone, put back.
  const file = join(project, design);
  await page.locator("#design").selectOption(design);
  await page.locator(".numbers .big").first().waitFor(WAIT);
  const sound = readFileSync(file, "utf8");
  writeFileSync(file, `${sound}\nnonsense = true\n`);
  await page.locator("[role=alert] .warning", { hasText: "nonsense" }).first().waitFor(WAIT);
  check(true, "a design broken in an editor is told with what is wrong");
  writeFileSync(file, sound);
  await becomes(() => page.locator("[role=alert] .warning:visible", { hasText: "nonsense" }).count(), (n) => n === 0);
  renameSync(file, `${file}.away`);
  await page.getByText("is gone from the folder").first().waitFor(WAIT);
  check(true, "a design that is gone is told");
  renameSync(`${file}.away`, file);

  check(foreign.length === 0, `nothing is asked of anyone else ${foreign.join(" ")}`);
  const unexpected = noise.filter((line) => !/Failed to load resource|ERR_CONNECTION_REFUSED|GPU stall|fetch/.test(line));
  check(unexpected.length === 0, `the browser has nothing to complain of ${unexpected.join(" | ")}`);
  await context.close();

  // Narrow, dark, on paper; and what a tool for accessibility says.
  for (const [name, options] of [
    ["phone", { viewport: { width: 390, height: 844 } }],
    ["dark", { colorScheme: "dark" }],
    ["large", { viewport: { width: 2560, height: 1440 } }],
  ]) {
    const other = await opened({ ...options, bypassCSP: true });
    check(await fits(other.page), `${name}: nothing runs over the side`);
    await shot(other.page, name);
    if (name !== "large") {
      await other.page.addScriptTag({ path: createRequire(import.meta.url).resolve("axe-core/axe.min.js") });
      const found = await other.page.evaluate(() =>
        globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }),
      );
      const said = found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" ; ")}`);
      check(said.length === 0, `${name}: accessible as far as axe sees ${said.join("\n     ")}`);
    }
    if (name === "phone") {
      await other.page.emulateMedia({ media: "print" });
      check(await other.page.locator("h1").isVisible(), "printed: the verdict is there");
      check(!(await other.page.locator("#change").isVisible()), "printed: controls are not");
      if (shots) await other.page.pdf({ path: join(shots, "page.pdf"), format: "A4" });
    }
    await other.context.close();
  }
} catch (fault) {
  check(false, `the test itself: ${fault instanceof Error ? fault.message : fault}`);
} finally {
  await browser.close();
  await ended(server.child);
  rmSync(folder, { recursive: true, force: true });
}
console.log(faults.length === 0 ? "page: all holds" : `page: ${faults.length} do not hold`);
process.exit(faults.length === 0 ? 0 : 1);
