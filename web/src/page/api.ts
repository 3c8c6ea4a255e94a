/** Questions to the server: the token, faults in words, the newest question first, the stream of events. */
import type { Event, Fault, Refusal } from "../wire/types";

/** The server answered that it cannot, and why. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly faults: readonly Fault[],
  ) {
    super(faults.map((fault) => `${fault.what}${fault.mend ? ` (${fault.mend})` : ""}`).join("; "));
  }
}

/** There was no answer at all. */
export class Silent extends Error {
  constructor() {
    super("The program that serves this page does not answer. What you changed is kept here; start it again and reload.");
  }
}

const STORED = "sumpwright-token";

/** The token stands behind the # of the address it was opened with; it is kept for reloads and taken out of sight. */
function takeToken(): string {
  const behind = location.hash.slice(1);
  if (behind) {
    try {
      sessionStorage.setItem(STORED, behind);
    } catch {
      // Kept for this page only: a reload then needs the address with its token again.
    }
    history.replaceState(null, "", location.pathname + location.search);
  }
  if (behind) return behind;
  try {
    return sessionStorage.getItem(STORED) ?? "";
  } catch {
    return "";
  }
}

const token = takeToken();

async function reach(path: string, body: unknown, signal: AbortSignal | undefined): Promise<Response> {
  const init: RequestInit = { headers: { "X-Sumpwright-Token": token }, cache: "no-store" };
  if (signal) init.signal = signal;
  if (body !== undefined) {
    init.method = "POST";
    init.body = JSON.stringify(body);
    init.headers = { ...init.headers, "Content-Type": "application/json" };
  }
  let response: Response;
  try {
    response = await fetch(path, init);
  } catch (fault) {
    if (signal?.aborted) throw fault;
    throw new Silent();
  }
  if (response.ok) return response;
  if (response.status === 401) {
    const mend = "open the address that it printed; what you changed is kept in this browser";
    throw new Refused(401, [{ what: "the program was started anew and no longer knows this page", place: path, key: null, mend }]);
  }
  const said = (await response.json().catch(() => null)) as Refusal | null;
  throw new Refused(
    response.status,
    said?.faults ?? [{ what: `the server answered ${response.status}`, place: path, key: null, mend: "reload the page" }],
  );
}

/** GET without a body, else POST. */
export async function ask<Answer>(path: string, body?: unknown): Promise<Answer> {
  const response = await reach(path, body, undefined);
  return response.status === 204 ? (undefined as Answer) : ((await response.json()) as Answer);
}

/** A file of the server, handed to the browser as a download. */
export async function download(path: string, name: string): Promise<void> {
  const response = await reach(path, undefined, undefined);
  save(await response.blob(), name);
}

/** Hands bytes to the browser as a download. */
export function save(blob: Blob, name: string): void {
  const address = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = address;
  link.download = name.split("/").at(-1) ?? name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** Events as they come; `linked` tells when the line to the server is there, or why not. It is taken up again by itself. */
export function listen(seen: (event: Event) => void, linked: (why: string | null) => void): void {
  const again = async (): Promise<void> => {
    try {
      const response = await reach("/api/events", undefined, undefined);
      linked(null);
      for await (const text of messages(response)) seen(JSON.parse(text) as Event);
      linked(new Silent().message);
    } catch (fault) {
      linked(fault instanceof Error ? fault.message : String(fault));
    }
    setTimeout(() => void again(), 2000);
  };
  void again();
}

/** The data of each message of an event stream (WHATWG HTML, 9.2). */
async function* messages(response: Response): AsyncGenerator<string> {
  const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader();
  if (!reader) return;
  let text = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    text += value;
    for (let end = text.indexOf("\n\n"); end >= 0; end = text.indexOf("\n\n")) {
      const lines = text.slice(0, end).split("\n");
      text = text.slice(end + 2);
      const data = lines.filter((line) => line.startsWith("data:")).map((line) => line.slice(5).trim());
      if (data.length > 0) yield data.join("\n");
    }
  }
}
