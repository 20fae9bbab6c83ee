package words

import (
	"net/url"
	"strings"

	"dampstone/flybox"
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

func BoxHref(id string) string { return "/box/" + url.PathEscape(id) }
func FlyHref(id string) string { return "/box/fly/" + url.PathEscape(id) }

const FoamPath = "/bench/foam"

// FoamHref is where the body of a fly is cut, "" for one without foam.
func FoamHref(b flybox.Pattern, id string) string {
	if !plan.OfFoam(b.Style) {
		return ""
	}
	return FoamPath + "?fly=" + url.QueryEscape(id)
}

func OrderHref(id string) string { return "/bench/order/" + url.PathEscape(id) }

func RecipeHref(fly string) string { return "/bench/recipe/" + url.PathEscape(fly) }

func TripHref(id string) string { return "/trip/" + url.PathEscape(id) }
