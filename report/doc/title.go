package doc

import "humdiff/report/model"

// Title is the answer of a result: a pointer to a model value that a document is
// told of; empty for another.
func Title(result any) string {
	switch r := result.(type) {
	case *model.Compare:
		return Compare(*r).Title
	case *model.Measure:
		return Measure(*r).Title
	case *model.Trend:
		return Trend(*r).Title
	case *model.Check:
		return CheckHeadline(*r)
	case *model.Session:
		return SessionHeadline(*r)
	}
	return ""
}
