package words

import (
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/server/app/screen"
)

// HatchHref leads to the page of a hatch with the same answers.
func HatchHref(id, form string, ans *screen.EvidenceForm) string {
	q := ans.Query()
	if form != "" {
		q = strings.TrimPrefix(q+"&form="+url.QueryEscape(form), "&")
	}
	return screen.WithQuery("/hatch/"+url.PathEscape(id), q)
}

func BoxHref(id journal.ID) string { return "/box/" + url.PathEscape(string(id)) }
func FlyHref(id journal.ID) string { return "/box/fly/" + url.PathEscape(string(id)) }

const FoamPath = "/bench/foam"

// FoamHref is where the body of a fly is cut, "" for one without foam.
func FoamHref(b flybox.Pattern, id journal.ID) string {
	if !plan.OfFoam(b.Style) {
		return ""
	}
	return FoamPath + "?fly=" + url.QueryEscape(string(id))
}

func OrderHref(id journal.ID) string { return "/bench/order/" + url.PathEscape(string(id)) }

func RecipeHref(fly journal.ID) string { return "/bench/recipe/" + url.PathEscape(string(fly)) }

func TripHref(id journal.ID) string { return "/trip/" + url.PathEscape(string(id)) }
