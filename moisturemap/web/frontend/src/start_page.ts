// The first page: the jobs in this folder, and a new one.

import { ask, Refused, Unreachable } from "./api";
import { deviceSection } from "./devices";
import { announce } from "./announce";
import { button, field, h, replace, select } from "./dom";
import { keep, kept, newKey } from "./keep";
import type { LengthUnit } from "./lengths";
import { t } from "./strings";
import type { ProjectInfo } from "./task";
import { who } from "./who";

interface Listed {
  folder: string;
  projects: {
    id: string;
    name: string;
    file: string;
    changed: string;
    complaint: string;
    copies: string[];
  }[];
  invitation: boolean;
  /** Whether a whole folder is served, not one file. */
  new: boolean;
}

export class StartPage {
  constructor(
    private readonly app: HTMLElement,
    private readonly go: (id: string, task: string) => void,
  ) {}

  async start(): Promise<void> {
    const box = h("main", { class: "start" }, h("p", { role: "status" }, t("one-moment")));
    replace(this.app, box);
    try {
      this.fill(box, await ask<Listed>("/api/projects"));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      replace(
        box,
        h("h1", {}, "moisturemap"),
        h("p", { class: "refusal", role: "alert" }, error.message),
        button(t("try-again"), () => void this.start(), "main"),
      );
    }
  }

  private fill(box: HTMLElement, listed: Listed): void {
    const cards = h("ul", { class: "cards" });
    for (const project of listed.projects) {
      const open = h(
        "a",
        {
          class: "button main",
          href: `#/${encodeURIComponent(project.id)}/map`,
          "aria-label": t("open-named", { name: project.name }),
        },
        t("open"),
      );
      const words = project.complaint
        ? h("p", { class: "bad" }, project.complaint)
        : h(
            "p",
            { class: "words" },
            project.file,
            h("br"),
            t("changed", { when: new Date(project.changed).toLocaleString() }),
          );
      cards.append(
        h(
          "li",
          { class: "card" },
          h("h2", {}, project.name),
          words,
          ...project.copies.map((one) => h("p", { class: "caution" }, one)),
          project.complaint ? null : open,
        ),
      );
    }
    replace(
      box,
      h(
        "div",
        { class: "row" },
        h("img", { src: "/icon.svg", alt: "", width: 48, height: 48 }),
        h("h1", {}, t("welcome")),
      ),
      h("p", {}, t("welcome-long")),
      h("h2", {}, t("new-job")),
      this.newForm(),
      h("h2", {}, t("jobs")),
      listed.new && listed.projects.length
        ? h("p", {}, h("a", { class: "button", href: "#floors" }, t("floors")))
        : null,
      listed.projects.length ? cards : h("p", {}, t("no-jobs", { folder: listed.folder })),
      listed.invitation ? this.invitation() : null,
      deviceSection(),
      h("p", { class: "words" }, t("relative-always")),
    );
  }

  private newForm(): HTMLElement {
    const name = field(t("job-name"), { hint: t("job-name-hint"), more: { maxlength: 120 } });
    const person = field(t("your-name"), {
      value: who(),
      hint: t("your-name-hint"),
      more: { maxlength: 80 },
      onchange: (text) => who(text),
    });
    const units = select(
      t("units"),
      [
        ["m", t("units-metric")],
        ["ft", t("units-us")],
      ],
      kept<LengthUnit>("unit") ?? "m",
      (unit) => keep("unit", unit),
    );
    const key = newKey();
    const make = async (): Promise<void> => {
      if (!name.input.value.trim()) return name.say(t("name-needed"), true);
      try {
        const project = await ask<ProjectInfo>("/api/projects", {
          body: {
            name: name.input.value.trim(),
            who: who(person.input.value),
            units: kept("unit") === "ft" ? "us" : "metric",
            timezone: Intl.DateTimeFormat().resolvedOptions().timeZone,
          },
          key,
        });
        this.go(project.id, "plan");
      } catch (error) {
        if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
        name.say(error.message, true);
      }
    };
    const form = h("form", {
      class: "card",
      onsubmit: (event) => {
        event.preventDefault();
        void make();
      },
    });
    form.append(
      h("div", { class: "two" }, name.row, person.row, units),
      h("button", { type: "submit", class: "main" }, t("make-job")),
    );
    return form;
  }

  private invitation(): HTMLElement {
    const words = h("p", { role: "status", "aria-live": "polite" });
    const invite = async (): Promise<void> => {
      const answer = await ask<{ addresses: string[] }>("/api/invitation", { method: "POST" });
      replace(
        words,
        t("invitation"),
        ...answer.addresses.map((address) => h("code", { class: "card" }, address)),
      );
      announce(t("invitation-made"));
    };
    return h(
      "section",
      {},
      h("h2", {}, t("another-device")),
      button(t("invite"), () => void invite()),
      words,
    );
  }
}
