// Which page of a document to trace over, seen before it is taken.

import { ask, Refused, Unreachable } from "./api";
import { dialog } from "./dialog";
import { button, field, h, replace } from "./dom";
import { t } from "./strings";

interface Shown {
  pages: number;
  jpeg: string;
}

/** What follows the choice while it is made. */
interface Watch {
  /** A page is looked at. */
  turned: (page: number) => void;
  /** None is wanted. */
  refused: () => void;
}

/**
 * Let a page be chosen, from one looked at before; null when none is wanted. A document of one page
 * asks nothing.
 */
export async function choosePage(file: File, before: number, watch: Watch): Promise<number | null> {
  let page = before;
  const first = await look(file, page);
  if (first.pages === 1) return 1;
  const image = h("img", { alt: "", class: "page" });
  const words = h("p", { role: "status", class: "words" });
  const number = field(t("page-number"), {
    value: String(page),
    inputmode: "numeric",
    onchange: (text) => void turn(Number(text)),
  });
  const show = (shown: Shown): void => {
    image.src = `data:image/jpeg;base64,${shown.jpeg}`;
    image.alt = t("page-of", { page, pages: first.pages });
    replace(words, t("page-of", { page, pages: first.pages }));
    number.input.value = String(page);
    number.say("");
  };
  const turn = async (to: number): Promise<void> => {
    if (!Number.isInteger(to) || to < 1 || to > first.pages)
      return number.say(t("page-none", { pages: first.pages }), true);
    try {
      const shown = await look(file, to);
      page = to;
      watch.turned(page);
      show(shown);
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      number.say(error.message, true);
    }
  };
  show(first);
  const row = h(
    "div",
    { class: "row end" },
    button(t("page-before"), () => void turn(page - 1)),
    number.row,
    button(t("page-after"), () => void turn(page + 1)),
  );
  const pressed = await dialog(
    t("page-choose", { file: file.name }),
    [row, words, image],
    [["use", t("page-use"), "main"]],
    { about: null, given: (value) => value === null && watch.refused() },
  );
  return pressed ? page : null;
}

function look(file: File, page: number): Promise<Shown> {
  const form = new FormData();
  form.append("file", file);
  form.append("page", String(page));
  return ask<Shown>("/api/preview/page", { form });
}
