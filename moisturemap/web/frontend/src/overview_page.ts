// All floors of the folder: which are wet, not proven, drying late, with tests or probes that age.

import { ask, Refused } from "./api";
import { button, h, replace, select, table } from "./dom";
import { kept } from "./keep";
import { writeArea, type LengthUnit } from "./lengths";
import { t, word, type Key } from "./strings";

export interface Floor {
  state: string;
  floor: string;
  name: string | null;
  project: string;
  /** Its file, within the folder. */
  survey: string;
  error: string;
  verdict: string | null;
  holds_until: string | null;
  wet_m2: number | null;
  contested_m2: number | null;
  tests: number | null;
  tests_valid: number | null;
  oldest_valid_test: string | null;
  calibration_due: string | null;
  stagnant_m2: number | null;
  rising_m2: number | null;
  rose_between_m2: number | null;
  set_aside_readings: number | null;
  set_aside_m2: number | null;
  not_before_days: number | null;
  /** When the visit that was mapped began. */
  started: string | null;
}

interface Answer {
  today: string;
  round: { running: boolean; phrase: string; fraction: number; error: string };
  floors: Floor[];
}

/** Tests older than this are read again; a verdict that ends this soon is told [days]. */
const [AGED_DAYS, SOON_DAYS] = [30, 14];
const LOOK_MS = 1500;

function daysUntil(day: string | null, today: string): number | null {
  return day ? Math.round((Date.parse(day) - Date.parse(today)) / 86_400_000) : null;
}

function area(squareMetres: number | null): string {
  return squareMetres === null ? "–" : writeArea(squareMetres, kept<LengthUnit>("unit") ?? "m");
}

const some = (value: number | null): boolean => value !== null && value > 0;

/** The earliest day by the readings of the visit that was mapped, however long ago that is. */
export function notBefore({ not_before_days: days, started }: Floor): string {
  if (!some(days)) return "";
  if (!started) return t("floor-days", { n: Math.ceil(days!) });
  const day = new Date(started);
  day.setUTCDate(day.getUTCDate() + Math.ceil(days!));
  return t("floor-day", { day: day.toISOString().slice(0, 10), visit: started.slice(0, 10) });
}

/** Why a floor could not be studied; what is a fault of the program is of no use to who reads it. */
export function errorWords(error: string): string {
  return error.includes("something unforeseen") ? t("floor-unforeseen") : error;
}

type Rule = (floor: Floor, today: string) => boolean;

export const RULES: [key: Key, holds: Rule][] = [
  ["floors-all", () => true],
  ["floors-wet", (one) => some(one.wet_m2)],
  ["floors-contested", (one) => some(one.contested_m2)],
  ["floors-exceeds", (one) => one.verdict === "exceeds"],
  ["floors-unproven", isUnproven],
  ["floors-late", (one) => some(one.rising_m2) || some(one.stagnant_m2)],
  ["floors-rose", (one) => some(one.rose_between_m2)],
  ["floors-ageing", isAgeing],
  ["floors-due", (one, today) => (daysUntil(one.calibration_due, today) ?? 1e9) <= SOON_DAYS],
  ["floors-failed", (one) => one.error !== ""],
];

function isUnproven(one: Floor): boolean {
  if (one.state === "waiting" || one.error) return false;
  return one.verdict !== "meets" && one.verdict !== "exceeds";
}

function isAgeing(one: Floor, today: string): boolean {
  const ends = daysUntil(one.holds_until, today);
  const read = daysUntil(one.oldest_valid_test, today);
  return (ends !== null && ends <= SOON_DAYS) || (read !== null && -read > AGED_DAYS);
}

export class OverviewPage {
  private timer = 0;
  private rule = 0;
  private answer: Answer | null = null;
  private readonly words = h("p", { role: "status", "aria-live": "polite" });
  private readonly act = h("div", { class: "row" });
  private readonly list = h("div", { class: "floors" });

  constructor(
    private readonly app: HTMLElement,
    private readonly open: (id: string) => string,
  ) {}

  async start(): Promise<void> {
    const choices = RULES.map(([key], i): [string, string] => [String(i), t(key)]);
    const chosen = select(t("floors-show"), choices, "0", (index) => {
      this.rule = Number(index);
      this.fill();
    });
    const back = h("a", { class: "button", href: "#" }, t("all-jobs"));
    replace(
      this.app,
      h(
        "main",
        { class: "start" },
        h("div", { class: "row spread" }, h("h1", {}, t("floors")), back),
        this.words,
        this.act,
        h("div", { class: "two" }, chosen),
        this.list,
      ),
    );
    replace(this.words, t("one-moment"));
    await this.look();
  }

  leave(): void {
    clearTimeout(this.timer);
  }

  private async look(): Promise<void> {
    clearTimeout(this.timer);
    try {
      const patient = (why: Error): void => replace(this.words, why.message);
      this.answer = await ask<Answer>("/api/floors", { patient });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      replace(this.words, error.message);
      return;
    }
    if (!this.list.isConnected) return;
    this.fill();
    if (this.answer.round.running) this.timer = setTimeout(() => void this.look(), LOOK_MS);
  }

  private async round(what: "study" | "stop"): Promise<void> {
    await ask(`/api/floors/${what}`, { method: "POST" });
    await this.look();
  }

  private fill(): void {
    if (!this.answer) return;
    const { floors, round, today } = this.answer;
    const open = floors.filter((one) => one.state !== "done" && one.state !== "failed").length;
    const doing = t("floors-doing", { phrase: round.phrase || t("one-moment") });
    const rest = open ? t("floors-open", { n: open }) : t("floors-known", { n: floors.length });
    replace(this.words, round.running ? doing : `${round.error} ${rest}`.trim());
    replace(
      this.act,
      round.running
        ? button(t("stop-work"), () => void this.round("stop"))
        : open
          ? button(t("floors-study"), () => void this.round("study"), "main")
          : null,
    );
    const [, holds] = RULES[this.rule]!;
    const shown = floors.filter((one) => holds(one, today));
    const names = floors.map((one) => one.name || one.floor);
    const twice = new Set(names.filter((one, i) => names.indexOf(one) !== i));
    const rows = shown.map((one) => this.row(one, today, twice));
    const heads = [
      "floor",
      "floor-verdict",
      "floor-wet",
      "floor-drying",
      "floor-tests",
      "probe-due",
    ];
    replace(
      this.list,
      rows.length
        ? table(
            t("floors"),
            heads.map((key) => t(key as Key)),
            rows,
            undefined,
            true,
          )
        : h("p", {}, t("floors-none")),
    );
  }

  private row(one: Floor, today: string, twice: Set<string>): (Node | string)[] {
    const name = one.name || one.floor;
    const link = one.project ? h("a", { href: this.open(one.project) }, name) : name;
    const told = [
      // floors of one name are told apart by their files
      twice.has(name) ? one.survey : "",
      one.state === "done" ? "" : word("floor-state", one.state),
    ];
    const state = told.filter(Boolean).join(", ");
    const first = h("span", {}, link, state ? h("small", { class: "words" }, ` ${state}`) : null);
    if (one.error) return [first, errorWords(one.error), "", "", "", ""];
    if (one.state === "waiting") return [first, "–", "–", "–", "–", "–"];
    const verdict = one.verdict ? word("verdict", one.verdict) : t("no-tests");
    const contested = some(one.contested_m2)
      ? `, ${t("floor-contested", { area: area(one.contested_m2) })}`
      : "";
    const aside = some(one.set_aside_readings)
      ? `, ${t("floor-aside", { n: one.set_aside_readings!, area: area(one.set_aside_m2) })}`
      : "";
    const drying = [
      some(one.rose_between_m2) ? t("floor-rose", { area: area(one.rose_between_m2) }) : "",
      some(one.rising_m2) ? t("floor-rising", { area: area(one.rising_m2) }) : "",
      some(one.stagnant_m2) ? t("floor-stagnant", { area: area(one.stagnant_m2) }) : "",
      notBefore(one),
    ];
    const tests = [
      one.tests ? t("floor-valid", { valid: one.tests_valid ?? 0, all: one.tests }) : "",
      one.holds_until ? t("floor-holds", { day: one.holds_until }) : "",
      isAgeing(one, today) ? t("floor-again") : "",
    ];
    return [
      first,
      verdict,
      `${area(one.wet_m2)}${contested}${aside}`,
      drying.filter(Boolean).join("; ") || "–",
      tests.filter(Boolean).join("; ") || "–",
      one.calibration_due ?? "–",
    ];
  }
}
