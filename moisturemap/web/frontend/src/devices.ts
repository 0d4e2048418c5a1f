// The devices that were let in: listed on the first page, named by who uses them, revoked there.

import { ask } from "./api";
import { announce } from "./announce";
import { button, h, replace, section } from "./dom";
import { t } from "./strings";

interface Device {
  id: string;
  name: string;
  browser: string;
  since: string;
  seen: string;
  this: boolean;
}

/** Call this device by the name of who uses it. */
export async function nameDevice(who: string): Promise<void> {
  await ask("/api/devices/this", { method: "PUT", body: { who } });
}

/** A browser as people call it. */
export function browserName(agent: string): string {
  const maker = /(Firefox|Edg|Chrome|Safari)/.exec(agent)?.[1] ?? "";
  const system = /(Android|iPad|iPhone|Windows|Mac OS|Linux)/.exec(agent)?.[1] ?? "";
  return [maker.replace("Edg", "Edge"), system].filter(Boolean).join(", ") || agent.slice(0, 40);
}

export function deviceSection(): HTMLElement {
  const list = h("ul", { class: "list tall" });
  const load = async (): Promise<void> => {
    const { devices } = await ask<{ devices: Device[] }>("/api/devices", { patient: true });
    replace(
      list,
      ...devices.map((one) => {
        const words = t("device-is", {
          name: one.name || t("nobody-named"),
          browser: browserName(one.browser),
          seen: new Date(one.seen).toLocaleString(),
        });
        const revoke = async (): Promise<void> => {
          await ask(`/api/devices/${one.id}`, { method: "DELETE" });
          announce(t("device-revoked"));
          await load();
        };
        return h(
          "li",
          {},
          h("div", {}, words),
          one.this ? h("span", {}, t("this-device")) : button(t("revoke"), () => void revoke()),
        );
      }),
    );
    box.hidden = devices.length === 0;
  };
  const box = section(t("devices"), h("p", { class: "words" }, t("devices-how")), list);
  box.hidden = true;
  void load();
  return box;
}
