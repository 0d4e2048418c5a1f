// Photographs kept in the job: taken or chosen, and shown beside what they are of.

import { ask, Refused } from "./api";
import { announce } from "./announce";
import { dialog } from "./dialog";
import { check, fileButton, h, replace } from "./dom";
import { insist } from "./insist";
import { newKey } from "./keep";
import { postFile } from "./outbox";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

interface Photo {
  fid: number;
  name: string;
  media_type: string;
  taken: string | null;
  of_layer: string;
  of_row: string;
  note: string;
  /** Name its test has now. */
  hole: string;
}

/** What a photograph is of: a row of a layer, or the whole job. */
export interface Subject {
  layer: "" | "readings" | "tests" | "rooms";
  row: string;
  note: string;
}

/** Answers about a file that is refused however often it is sent: too large, or no such picture. */
const UNFIT = [413, 415, 422];

export const JOB: Subject = { layer: "", row: "", note: "" };

/** A hole has no row of its own before it is drilled; its photographs go by room and place. */
export function holeSubject(hole: { hole: string; room: string; x: number; y: number }): Subject {
  const row = `${hole.room} ${hole.x.toFixed(2)}, ${hole.y.toFixed(2)}`;
  return { layer: "rooms", row, note: t("photo-of-hole", { hole: hole.hole, place: row }) };
}

/** Buttons to add photographs of a subject, and those there are; of the job, all of them. */
export function photoBox(
  context: Context,
  subject: Subject,
  added: () => void = () => undefined,
): HTMLElement {
  const list = h("ul", { class: "photos", "aria-live": "polite" });
  let keepOrigin = false;
  const origin = subject.layer
    ? null
    : check(t("keep-origin"), false, (checked) => (keepOrigin = checked));
  const add = async (file: File, chooser: HTMLElement): Promise<void> => {
    const later = (): void => {
      added();
      void show(context, subject, list);
    };
    try {
      await send(context, subject, file, keepOrigin, later);
    } catch (error) {
      if (!(error instanceof Refused && UNFIT.includes(error.status))) throw error;
      const words = h("p", { class: "refusal" }, error.message);
      const another: [string, string, string] = ["another", t("choose-another"), "main"];
      if (await dialog(file.name, [words], [another], { about: null }))
        chooser.querySelector("input")!.click();
    }
  };
  const pictures = "image/jpeg,image/png";
  const chosen = subject.layer ? pictures : `${pictures},application/pdf`;
  const take = fileButton(t("take-photo"), pictures, (file) => void add(file, take), true);
  const words = t(subject.layer ? "choose-photo" : "add-photo");
  const choose = fileButton(words, chosen, (file) => void add(file, choose));
  void show(context, subject, list);
  return h("div", {}, h("div", { class: "row" }, take, choose), origin, list);
}

async function send(
  context: Context,
  subject: Subject,
  file: File,
  keepOrigin: boolean,
  later: () => void,
): Promise<void> {
  const who = await askWho();
  if (!who) return;
  const said = {
    who,
    note: subject.note || file.name,
    of_layer: subject.layer,
    of_row: subject.row,
    keep_origin: String(keepOrigin),
  };
  const key = newKey();
  const arrived = (): void => {
    announce(t("photo-kept"));
    later();
  };
  const send = (): Promise<"sent" | "kept"> =>
    postFile(context.path("photos"), said, [file, key], arrived);
  const sent = await insist(file.name, send, ({ status }) => !UNFIT.includes(status));
  if (sent?.[0] === "kept") announce(t("file-kept", { file: file.name }));
}

async function show(context: Context, subject: Subject, list: HTMLElement): Promise<void> {
  let photos: Photo[];
  try {
    photos = (await ask<{ photos: Photo[] }>(context.path("photos"), { patient: true })).photos;
  } catch (error) {
    if (error instanceof Refused) return; // what is shown stays
    throw error;
  }
  const mine = (one: Photo): boolean =>
    !subject.layer || (one.of_layer === subject.layer && one.of_row === subject.row);
  replace(
    list,
    ...photos
      .filter((one) => one.media_type.startsWith("image/") && mine(one))
      .map((one) => picture(context, one)),
  );
}

function picture(context: Context, photo: Photo): HTMLElement {
  const url = context.path(`photos/${photo.fid}`);
  const name = photo.hole ? t("test-of", { hole: photo.hole }) : photo.note || photo.name;
  const words = [name, photo.taken ? new Date(photo.taken).toLocaleString() : ""]
    .filter(Boolean)
    .join(", ");
  const image = h("img", { src: url, alt: name, loading: "lazy" });
  return h(
    "li",
    {},
    h("a", { href: url, target: "_blank", rel: "noopener" }, image),
    h("small", {}, words),
  );
}
