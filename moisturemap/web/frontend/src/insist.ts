// Writes that are not queued: while the program is away they are held in a dialogue over the page.

import { lineBack, Refused, Unreachable } from "./api";
import { dialog } from "./dialog";
import { h } from "./dom";
import { t } from "./strings";
import { tellUnsaved } from "./unsaved";

/**
 * Send something and hold it while it cannot be sent: again by a button, and by itself when the
 * line is back. Returns the answer, or null when it was given up. What the program refuses is
 * thrown as not stored, or held as well where it `holds` that refusal.
 */
export async function insist<T>(
  what: string,
  send: () => Promise<T>,
  holds: (why: Refused) => boolean = () => false,
): Promise<[T] | null> {
  try {
    return [await send()];
  } catch (error) {
    const held = error instanceof Unreachable || (error instanceof Refused && holds(error));
    if (!held) throw error instanceof Refused ? notStored(error) : error;
    return await hold(what, error, send);
  }
}

function notStored({ message, status, detail }: Refused): Refused {
  return new Refused(t("not-taken", { why: message }), status, detail);
}

async function hold<T>(
  what: string,
  why: Refused | Unreachable,
  send: () => Promise<T>,
): Promise<[T] | null> {
  tellUnsaved(what, why.message);
  let answer = await tryAgain(what, why, send);
  while (!answer && !(await givenUp(what))) answer = await tryAgain(what, why, send);
  tellUnsaved(what, null);
  return answer;
}

/** Over the page until it is sent or closed; once closed, nothing is sent behind anybody's back. */
async function tryAgain<T>(
  what: string,
  why: Refused | Unreachable,
  send: () => Promise<T>,
): Promise<[T] | null> {
  const words = h("p", { class: "refusal" }, t("not-stored", { why: why.message }));
  let answer: [T] | null = null;
  const shown = dialog(what, [words], [["again", t("try-again"), "main"]], {
    send: async () => {
      words.hidden = true; // why it fails again is told by the dialogue
      answer = [await send()];
    },
    about: null,
  });
  const again = (): void =>
    words.closest("dialog[open]")?.querySelector<HTMLElement>(".actions .main")?.click();
  if (why instanceof Unreachable) void lineBack().then(again);
  await shown;
  return answer;
}

/** Whether what is held may be lost; nothing but the button that says so throws it away. */
async function givenUp(what: string): Promise<boolean> {
  const actions: [string, string, string][] = [["drop", t("throw-away"), "danger"]];
  const words = h("p", { class: "words" }, t("lost-if-closed", { what }));
  const options = { about: null, question: true, closing: t("keep-trying") };
  return (await dialog(t("not-stored-anywhere"), [words], actions, options)) === "drop";
}
