package layout

import (
	"math"

	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// position puts the position together. What the message does not speak of stays as it was; a height alone is no position,
// so that it counts for nothing where latitude and longitude are not known either. Above mean sea level becomes above the
// ellipsoid by the undulation, of the message or as known before; unknown, it is taken as 0.
func (d *draft) position() {
	if d.void[voidPosition] || d.hasLat < 0 || d.hasLon < 0 {
		d.r.Position = opt.None[geo.Position]()
		return
	}
	p, ok := d.r.Position.Value()
	if d.hasLat > 0 {
		p.Lat = min(max(d.lat, -math.Pi/2), math.Pi/2)
	}
	if d.hasLon > 0 {
		p.Lon = d.lon
	}
	switch {
	case d.hasHeight > 0:
		p.Height = d.height
	case d.hasAltitude > 0:
		p.Height = d.altitude + d.r.Undulation.Or(0)
	}
	if ok || d.hasLat > 0 && d.hasLon > 0 {
		d.r.Position = opt.Of(p)
	}
}

// rollOf is the roll of a vessel the right way up whose right axis points so far below the horizontal.
func rollOf(inclination float64, pitch opt.Opt[float64], ok bool) opt.Opt[float64] {
	p, has := pitch.Value()
	s := math.Sin(inclination) / math.Cos(p)
	if !ok || !has || !(math.Abs(s) <= 1+1e-6) {
		return opt.None[float64]()
	}
	return opt.Of(math.Asin(min(max(s, -1), 1)))
}
