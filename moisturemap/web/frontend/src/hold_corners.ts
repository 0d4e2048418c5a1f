// Taking hold of the corners of a chosen room or line; right angles and other walls snap.

import Collection from "ol/Collection";
import type Feature from "ol/Feature";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import Interaction from "ol/interaction/Interaction";
import Modify from "ol/interaction/Modify";
import Translate from "ol/interaction/Translate";

import { aimed, distance, onWall, squareLines, type Place, type Wall } from "./geometry";
import { open } from "./plan_features";
import type { PlanView } from "./plan_view";

/** How near a finger must come to a corner or wall to take hold of it [px]. */
const GRASP_PX = 16;
const SNAP_PX = 12;

/** Turns where a corner is dragged to where it is meant to be before it is moved. */
class AimCorner extends Interaction {
  private lines: Wall[] = [];

  constructor(
    private readonly view: PlanView,
    private readonly feature: Feature<Geometry>,
  ) {
    super();
  }

  private metres(pixels: number): number {
    return pixels * (this.view.map.getView().getResolution() ?? 0);
  }

  override handleEvent(event: MapBrowserEvent): boolean {
    if (!event.coordinate) return true;
    const place: Place = [event.coordinate[0]!, event.coordinate[1]!];
    if (event.type === "pointerdown") this.lines = this.linesFor(place);
    if (event.type !== "pointerdrag") return true;
    const reach = this.metres(SNAP_PX);
    const [corners, walls] = this.view.around(place, reach, this.feature);
    event.coordinate = aimed(place, corners, walls, this.lines, reach);
    return true;
  }

  /** The lines that keep right angles at the neighbours of what is taken hold of. */
  private linesFor(place: Place): Wall[] {
    const geometry = this.feature.getGeometry();
    if (!(geometry instanceof Polygon)) return [];
    const reach = this.metres(GRASP_PX);
    for (const closed of geometry.getCoordinates()) {
      const ring = open(closed);
      const corner = ring.findIndex((one) => distance(one, place) <= reach);
      if (corner >= 0) return squareLines(ring, corner - 1, corner + 1);
      const wall = ring.findIndex((from, i) => {
        const to = ring[(i + 1) % ring.length]!;
        return distance(onWall([from, to], place), place) <= reach;
      });
      if (wall >= 0) return squareLines(ring, wall, wall + 1);
    }
    return [];
  }
}

/** Let a room or line be taken hold of; `moved` is called when it was let go elsewhere. */
export function holdCorners(
  view: PlanView,
  feature: Feature<Geometry>,
  moved: (geometry: Geometry) => void,
): void {
  const features = new Collection([feature]);
  if (feature.getGeometry() instanceof Point) {
    const move = new Translate({ features, hitTolerance: GRASP_PX });
    move.on("translateend", () => moved(feature.getGeometry()!));
    view.use(move);
    return;
  }
  const modify = new Modify({ features, pixelTolerance: GRASP_PX });
  modify.on("modifyend", () => moved(feature.getGeometry()!));
  view.use(modify, new AimCorner(view, feature));
}

/** The places of a line, or the corners of an area. */
export function placesOf(geometry: Geometry): Place[] {
  if (geometry instanceof Point) return [geometry.getCoordinates() as Place];
  if (geometry instanceof LineString) return geometry.getCoordinates() as Place[];
  return open((geometry as Polygon).getCoordinates()[0]!);
}
