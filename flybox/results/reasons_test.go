package results

import (
	"fmt"
	"slices"
	"testing"

	"dampstone/flybox"
)

func TestAFlyIsNotBlamedForDrag(t *testing.T) {
	var plain, excused Count
	for _, did := range []flybox.Result{flybox.Refusal, flybox.Follow, flybox.Take} {
		plain.Add(flybox.Outcome{Result: did, Why: flybox.TooBig})
		for _, why := range []flybox.Reason{flybox.Drag, flybox.Leader, flybox.Depth} {
			excused.Add(flybox.Outcome{Result: did, Why: why})
		}
	}
	if got := plain.Against(); got != 1+FollowAsRefusal {
		t.Errorf("a refusal and a follow for its size are worth %v", got)
	}
	if excused.Against() != 0 || excused.For() != 3 || excused.Fish() != 9 {
		t.Errorf("%+v counts %v against the fly, %v for it, of %d fish", excused, excused.Against(), excused.For(), excused.Fish())
	}
	if both := plain.Plus(excused); both.Against() != plain.Against() || both.Fish() != 12 {
		t.Errorf("together %+v", both)
	}
}

func TestReasonsInTheAnglersOwnOrder(t *testing.T) {
	var bodies []flybox.Body
	for i, why := range []flybox.Reason{flybox.Outline, flybox.Outline, flybox.Drag, "", flybox.Depth, flybox.Outline} {
		hatch := []string{"a", "b"}[i%2]
		bodies = append(bodies, flybox.Outcome{When: "2026-08-14T06:00:00Z", Result: flybox.Refusal, Pattern: "p", Hatch: hatch, Form: "dun", Why: why})
	}
	bodies = append(bodies, flybox.Outcome{When: "2026-08-14T06:00:00Z", Result: flybox.Take, Pattern: "p", Hatch: "a", Form: "dun"})
	all, by := ReasonsOf(stateOf(t, bodies...), Filter{})
	if got := fmt.Sprint(all); got != "{6 5 2 [{shape 3} {drag 1} {depth 1}]}" {
		t.Errorf("in all %s", got)
	}
	if got := fmt.Sprint(by[Form{Hatch: "b", Form: "dun"}]); got != "{3 2 0 [{shape 2}]}" {
		t.Errorf("on b %s", got)
	}
	likely := all.Likely()
	if len(likely) != len(flybox.Reasons) || fmt.Sprint(likely[:3]) != "[shape drag depth]" {
		t.Errorf("likely %v", likely)
	}
	for _, why := range flybox.Reasons {
		if !slices.Contains(likely, why) {
			t.Errorf("%s cannot be said", why)
		}
	}
	if got := (Reasons{}).Likely(); !slices.Equal(got, flybox.Reasons) {
		t.Errorf("where nothing was said: %v", got)
	}
}
