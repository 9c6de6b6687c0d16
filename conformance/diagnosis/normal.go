package diagnosis

import "example.org/hearthbench/conformance/replay"

func same(w replay.World) (replay.World, bool) { return w, true }

// normal are the causes that leave the account as it is: nothing is wrong.
func (b *builder) normal() {
	b.add(cause{
		id: "normal/unit", family: NothingWrong, weight: weightUnitNormal, cure: cure{Words: explainUnit},
		words: "the unit does what its clauses say; what is expected of it differs",
	}, variant{apply: same})
	b.add(cause{
		id: "normal/plant", family: PlantNormal, weight: weightPlantNormal, cure: cure{Words: explainPlant},
		words: "the installation does what such installations do: it lags, a thermostat is satisfied, or the pump runs on",
	}, variant{apply: same})
}

const (
	explainUnit  = "Say which rule it follows and why; show how to set what is wanted."
	explainPlant = "Say how long warmth takes to come and go, and that a satisfied thermostat stops it."
)
