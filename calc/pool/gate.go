package pool

// An action is what a release does with a series.
type action int

const (
	// hide shows nothing.
	hide action = iota
	// keep shows again what was last shown, with its own day.
	keep
	// renew shows the figure of this release.
	renew
)

// A verdict is an action, the reason when it is hide, and whose records to speak
// of when it is renew.
type verdict struct {
	act    action
	reason Reason
	who    *selection
}

// past is when a series was last shown and of whom; its values are not here.
type past struct {
	asOf Day
	of   ledger
}

// A plan is what a release does with a cut and each of its series.
type plan struct {
	cut     Cut
	whole   verdict
	medians [figureCount]verdict
	middles [figureCount]verdict
	past    map[Series]past
}

// A gate decides about the series of one cut. It sees ids and dates.
type gate struct {
	day   Day
	rules Rules
	past  map[Series]past
	crowd *crowd
	// few is true when so few makers are active that only Everything is shown.
	few bool
	// inside are the plans of the cuts inside this one, nil for a cut that has
	// none.
	inside []plan
}

// decide makes the plan of a cut from the places of the facts in it. (Steps 4, 5
// and 6.)
func (g gate) decide(cut Cut, in []int32) plan {
	p := plan{cut: cut, past: g.past}
	all := g.crowd.selected(in)
	// The price is of every sale: the cut needs no more makers than it does.
	p.whole = g.series(whole, all, g.rules.Least(cut, Price), g.few)
	if g.few && cut != Everything {
		p.whole = verdict{reason: TooFewActive}
	}
	for _, f := range Figures(cut) {
		who := all.withFigure(f)
		p.medians[f] = g.follow(p.whole, medianOf(f), g.series(medianOf(f), who, g.rules.Least(cut, f), false))
		if figures[f].hasMiddle {
			p.middles[f] = g.follow(p.medians[f], middleOf(f), g.series(middleOf(f), who, g.rules.MiddleMakers, true))
		}
	}
	p.whole = g.moved(p)
	return p
}

// moved lets the cut as a whole move only when one of its figures does, and be
// shown only when one of them is.
func (g gate) moved(p plan) verdict {
	most := hide
	for _, median := range p.medians {
		most = max(most, median.act)
	}
	switch {
	case p.whole.act == hide || most == renew:
		return p.whole
	case most == keep:
		return verdict{act: keep}
	}
	return verdict{reason: TooFewMakers}
}

// series decides about one series by its own makers: enough of them, enough of
// them changed, a quarter gone by where that is asked, and no small remainder.
func (g gate) series(series Series, who *selection, least int, quarterly bool) verdict {
	last, shown := g.past[series]
	switch {
	case who.voices() < least:
		return verdict{reason: TooFewMakers}
	case shown && !who.changed(last.of, g.rules.Changed):
		return verdict{act: keep}
	case shown && g.day.Month()-last.asOf.Month() < Month(g.rules.Every):
		return verdict{act: keep}
	case shown && quarterly && g.day.Month()-last.asOf.Month() < quarter:
		return verdict{act: keep}
	case g.small(series, who) && shown:
		return verdict{act: keep}
	case g.small(series, who):
		return verdict{reason: SmallRemainder}
	}
	return verdict{act: renew, who: who}
}

// follow lets a series move only with the one that leads it: a figure with its
// cut, a middle half with its median. So that all of a cut moves together, what
// has just become fit to be shown waits for the next move.
func (g gate) follow(leads verdict, series Series, own verdict) verdict {
	if leads.act == hide {
		return verdict{reason: leads.reason}
	}
	if leads.act == keep && own.act == renew {
		if _, shown := g.past[series]; shown {
			return verdict{act: keep}
		}
		return verdict{reason: TooFewChanged}
	}
	return own
}
