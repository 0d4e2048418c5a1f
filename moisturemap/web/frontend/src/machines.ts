// Drying machines on the plan: placed, dragged, turned; the gain of better places beside them.

import { LineString } from "ol/geom";

import { bullets } from "./bullets";
import { ask, Latest, Refused } from "./api";
import { pointCollection } from "./collections";
import { announce } from "./announce";
import { alone, button, h, replace, section, table } from "./dom";
import { dragPoints } from "./drag_points";
import { gainTable, scored } from "./drying_tables";
import type { Placement } from "./drying_types";
import { renew } from "./focus";
import { freePlace, type Place } from "./geometry";
import { insist } from "./insist";
import { newKey } from "./keep";
import { writeLength } from "./lengths";
import { placeHead, writePlace } from "./place_words";
import { machineForm, type Machine } from "./machine_form";
import { nameLayer } from "./map_layers";
import type { SideView } from "./side_view";
import { machineStyle, moveStyle } from "./sign_style";
import { number } from "./numbers";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

/** Signs of machines this far apart can be told apart and tapped on a whole floor; our choice. */
const APART_M = 0.8;

export class Machines {
  readonly element = h("div");
  private machines: Machine[] = [];
  /** Those of the visit before that lists any which this one does not list. */
  private earlier: Machine[] = [];
  private placement: Placement | null = null;
  private refusal = "";
  private looking = false;
  /** The second plan, where two visits stand side by side. */
  beside: SideView | null = null;
  private readonly latest = new Latest();

  constructor(private readonly context: Context) {}

  async load(): Promise<void> {
    const path = this.context.path("machines");
    const { machines } = await ask<{ machines: Machine[] }>(path, { patient: true });
    const of = (visit: string): Machine[] => machines.filter((one) => one.visit === visit);
    const { visit, project } = this.context;
    this.machines = visit ? of(visit) : machines;
    const ids = project.visits.map((one) => one.id);
    const before = ids.slice(0, Math.max(ids.indexOf(visit ?? ""), 0)).reverse();
    const last = before.find((id) => of(id).length);
    const listed = new Set(this.machines.map((one) => one.machine));
    this.earlier = last ? of(last).filter((one) => !listed.has(one.machine)) : [];
    this.fill();
  }

  /** Ask where machines would do more, which takes longer than the rest, and show it. */
  async propose(): Promise<void> {
    this.looking = true;
    this.fill();
    try {
      const path = this.context.path(`placement?visit=${this.visit}`);
      const found = await this.latest.ask<Placement>(path, { patient: true });
      if (!found) return;
      this.placement = found;
      this.refusal = "";
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.refusal = error.message;
    }
    this.looking = false;
    renew(this.element, () => this.fill());
    this.drawMoves();
  }

  private get visit(): string {
    return encodeURIComponent(this.context.visit ?? "");
  }

  leave(): void {
    this.latest.drop();
  }

  draw(): void {
    const { view } = this.context;
    view.stop();
    this.drawMoves();
    const source = view.collection("machines", pointCollection(this.machines), machineStyle, 84);
    nameLayer("machines", source.getFeatures());
    const visit = this.context.visit;
    if (this.beside && !this.beside.carry("machines", machineStyle, 84, visit)) return;
    dragPoints(view, "machines", (sign, [x, y]) => {
      const machine = this.machines.find((one) => one.id === sign.get("id"));
      if (machine) void this.moved(machine, { ...machine, x, y });
    });
    view.onTap((_, features) => {
      const hit = features.find(
        (one) => one.get("machine") !== undefined && one.get("id") !== undefined,
      );
      const machine = hit && this.machines.find((one) => one.id === hit.get("id"));
      if (machine) void this.edit(machine);
    });
  }

  private drawMoves(): void {
    if (!this.placement) return;
    const source = this.context.view.collection("moves", this.placement.moves, moveStyle, 82);
    for (const feature of source.getFeatures())
      if (!(feature.getGeometry() instanceof LineString)) source.removeFeature(feature);
    nameLayer("moves", source.getFeatures());
    this.beside?.carry("moves", moveStyle, 82, this.context.visit);
  }

  /** Store a dragged machine and offer the way back. */
  private async moved(before: Machine, after: Machine): Promise<void> {
    await this.change(after);
    const stored = this.machines.find((one) => one.id === after.id);
    if (!stored || (stored.x === before.x && stored.y === before.y)) return;
    const words = { machine: after.machine, x: this.written(after.x), y: this.written(after.y) };
    const told = t(
      this.context.view.roomAt([after.x, after.y]) ? "machine-moved" : "machine-in-no-room",
      words,
    );
    announce(told, "note", [t("undo"), () => void this.change(before)]);
  }

  /** Write a coordinate for reading. */
  private written(metres: number): string {
    return writeLength(metres, this.context.unit);
  }

  table(): HTMLElement {
    const rows = this.machines.map((one) => [
      one.machine,
      word("machine", one.kind),
      writePlace([one.x, one.y], this.context.unit),
      one.direction_deg === null ? "–" : `${number(one.direction_deg)}°`,
    ]);
    return table(
      t("machines"),
      [t("name"), t("kind"), placeHead(this.context.unit), t("blows")],
      rows,
      (i) => void this.edit(this.machines[i]!),
      true,
    );
  }

  private fill(): void {
    const placement = this.placement;
    const moves = (placement?.moves.features ?? [])
      .map(({ properties: p }) => String(p.sentence))
      .filter(Boolean);
    replace(
      this.element,
      section(
        t("machines"),
        h("p", { class: "words" }, t("machines-how")),
        this.machines.length ? this.table() : h("p", {}, t("no-machines")),
        this.earlier.length
          ? button(
              t(this.machines.length ? "machines-too" : "machines-still", {
                n: this.earlier.length,
                visit: this.earlier[0]!.visit,
                names: this.earlier.map((one) => one.machine).join(", "),
              }),
              alone(() => this.standStill()),
            )
          : null,
        button(t("add-machine"), () => void this.add()),
        this.looking ? h("p", { role: "status" }, t("placing")) : null,
        this.refusal ? h("p", { class: "refusal" }, this.refusal) : null,
        placement && (this.looking || this.refusal)
          ? h("p", { class: "caution" }, t("placed-before"))
          : null,
        placement ? gainTable(placement, this.context.unit) : null,
        moves.length ? h("h3", {}, t("proposed-moves")) : null,
        moves.length ? bullets(moves) : null,
        placement ? bullets([...placement.statements, ...placement.notes]) : null,
        placement ? h("div", { class: "caution" }, bullets(placement.cautions)) : null,
      ),
    );
  }

  private async change(machine: Machine): Promise<void> {
    const who = await askWho();
    if (!who) return this.draw();
    const { id, ...rest } = machine;
    const body = { ...rest, x: Number(rest.x.toFixed(3)), y: Number(rest.y.toFixed(3)), who };
    const [path, key] = [this.context.path(`machines/${id}`), newKey()];
    try {
      if (!(await insist(machine.machine, () => ask(path, { method: "PUT", body, key }))))
        return this.draw();
    } catch (error) {
      this.draw(); // back where it stood
      throw error;
    }
    await this.again();
  }

  private async again(): Promise<void> {
    await this.load();
    this.draw();
    await this.propose();
    const scores = this.placement?.scores ?? [];
    if (scores.length)
      announce(
        scores
          .map((one) =>
            t("score-now", {
              kind: word("machine", one.kind),
              today: scored(one.today, one.unit, this.context.unit),
              gain: number(one.gain_pct),
            }),
          )
          .join(" "),
      );
  }

  private async edit(machine: Machine): Promise<void> {
    const answer = await machineForm(machine.machine, machine, this.context.unit, [
      ["store", t("store"), "main"],
      ["remove", t("take-away"), "danger"],
    ]);
    if (!answer) return;
    if (answer[0] === "store") return this.change({ ...answer[1], id: machine.id });
    const who = await askWho();
    if (!who) return;
    const [body, key] = [{ why: t("taken-away"), who }, newKey()];
    const path = this.context.path(`machines/${machine.id}`);
    const taken = await insist(machine.machine, () => ask(path, { method: "DELETE", body, key }));
    if (!taken) return;
    await this.again();
  }

  /** List the machines of the visit before on this one, each where it stood. */
  private async standStill(): Promise<void> {
    const visit = this.context.visit;
    const who = visit && (await askWho());
    if (!visit || !who) return;
    const path = this.context.path("machines");
    for (const one of this.earlier) {
      const { machine, kind, x, y, direction_deg, capacity, unit } = one;
      const body = { machine, visit, kind, x, y, direction_deg, capacity, unit, who };
      const key = newKey();
      if (!(await insist(machine, () => ask(path, { body, key })))) break;
    }
    await this.again();
  }

  /** The middle of the plan in sight, or beside it where another machine stands or no floor is. */
  private freePlace(): Place {
    const { view } = this.context;
    const [x = 0, y = 0] = view.map.getView().getCenter() ?? [];
    const taken = this.machines.map((one): Place => [one.x, one.y]);
    return freePlace([x, y], taken, APART_M, (place) => Boolean(view.roomAt(place)));
  }

  private async add(): Promise<void> {
    const visit = this.context.visit;
    const who = visit && (await askWho());
    if (!visit || !who) return;
    const [x, y] = this.freePlace();
    const blank = {
      machine: `M${this.machines.length + 1}`,
      visit,
      kind: "dehumidifier",
      x,
      y,
      direction_deg: null,
      capacity: null,
      unit: "",
    };
    const answer = await machineForm(t("add-machine"), blank, this.context.unit, [
      ["store", t("store"), "main"],
    ]);
    if (!answer) return;
    const [body, key] = [{ ...answer[1], who }, newKey()];
    const path = this.context.path("machines");
    if (!(await insist(answer[1].machine, () => ask(path, { body, key })))) return;
    await this.again();
  }
}
