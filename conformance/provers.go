package conformance

import "swellbench/conformance/suites"

// A Proof names a case of a ready-made suite.
type Proof struct{ Suite, Case string }

// Proofs lists, for each check, the cases of the ready-made suites that are to prove it, in their order.
func Proofs() (map[string][]Proof, error) {
	all := map[string][]Proof{}
	for _, name := range suites.Names() {
		s, err := LoadSuite(name)
		if err != nil {
			return nil, err
		}
		for _, c := range s.Cases {
			for _, id := range c.Checks {
				all[id] = append(all[id], Proof{name, c.Name})
			}
		}
	}
	return all, nil
}
