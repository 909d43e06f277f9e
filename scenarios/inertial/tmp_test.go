package inertial
import ("testing";"strings";"math";"fmt")
func TestTmp(t *testing.T) {
	for _, row := range errorRows(t) {
		if !strings.HasSuffix(row.Case, "/nonlinear") { continue }
		times, got := columns(t, row)
		want := row.Expected
		list := func(n string) []float64 { var o []float64; l,_ := want[n].([]any); for _, x := range l { o = append(o, x.(float64)) }; return o }
		e, nn, u := list("pos_east_m"), list("pos_north_m"), list("pos_up_m")
		h := list("heading_err_deg")
		s := row.ID[len(row.ID)-4:]+" "+row.Case
		worst := 0.0
		far := 0.0
		for i := range times {
			d := math.Hypot(got["pos_east_m"][i]-e[i], got["pos_north_m"][i]-nn[i])
			far = math.Max(far, math.Hypot(e[i], nn[i]))
			worst = math.Max(worst, d)
			if times[i]==600||times[i]==3600||times[i]==1800 || times[i]==21600 { s += fmt.Sprintf("  %g: %.2g m of %.3g (%.2g%%)", times[i], d, far, 100*worst/far); if u != nil { s += fmt.Sprintf(" up %.3g of %.3g", got["pos_up_m"][i]-u[i], u[i]) }; s += fmt.Sprintf(" hd %.2g of %.2g", got["heading_err_deg"][i]-h[i], h[i]) }
		}
		fmt.Println(s)
	}
}
