package complaint

import (
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// deedWords are the words that a line of what was done can begin with.
var deedWords = []string{
	"override", "boost", "mode", "period", "table", "clock", "holiday", "reset", "lock", "fit", "power", "isolator", "room", "cylinder",
	"frost", "immersion", "boiler", "draw",
}

// acts reads what was done.
func (r *reader) acts(ics *spec.ICS, n *document.Node) []Act {
	if n == nil {
		return nil
	}
	all := make([]Act, len(n.Items))
	for i, item := range n.Items {
		a := &all[i]
		do := item.Get("do")
		a.Place = place(do)
		a.Who, a.Sure = r.witness(item)
		r.when(item.Get("when"), &a.When, a.Who, false, someWhen)
		l := newLine(r, do)
		a.Text = strings.Join(l.Words, " ")
		l.act(ics, a, item)
		if a.Deed != DoCut && item.Get("for") != nil {
			r.FailAt(item.Get("for"), "only a power cut has a length; leave for out")
		}
	}
	return all
}

// witness reads who says so, and how sure that is: the household fairly, who writes the complaint sure, a log measured.
func (r *reader) witness(n *document.Node) (Who, Sure) {
	who := Household
	if e := n.Get("who"); e != nil {
		who, _ = whoWords.find(e.Text)
	}
	sure := [...]Sure{Household: Fairly, Integrator: Certain, Log: Measured}[who]
	if e := n.Get("sure"); e != nil {
		sure, _ = sureWords.find(e.Text)
	}
	return who, sure
}

func (l *line) act(ics *spec.ICS, a *Act, item *document.Node) {
	switch first, second := l.Word(1), l.Word(2); first {
	case "power":
		if second == "cut" {
			l.cut(a, item)
			return
		}
		if second != "off" && second != "on" {
			l.Wrong(2, "write power cut, power off or power on")
			return
		}
		l.one(a, a.Text)
	case "isolator", "immersion":
		if second != "off" && second != "on" {
			l.Wrong(2, "write %s off or %s on", first, first)
			return
		}
		l.fitting(a, first, second, 2)
	case "boiler":
		if second != "reset" {
			l.Wrong(2, "write boiler reset")
			return
		}
		l.fitting(a, first, second, 2)
	case "draw":
		if n, err := strconv.Atoi(second); err != nil || n < 1 || n > 100 {
			l.Wrong(2, "write how many hundredths of the cylinder, from 1 to 100")
			return
		}
		l.fitting(a, first, second, 2)
	case "room", "cylinder", "frost":
		l.stat(a)
	case "clock":
		l.setClock(a)
	case "table":
		var c Claim
		if l.table(&c) {
			a.Inputs = c.Inputs(ics, ics.Fitted)
		}
	case "boost":
		text := a.Text
		if l.Word(3) == "cancel" && len(l.Words) == 3 {
			text = first + " " + second + " 0"
		}
		l.one(a, text)
	case "override", "mode", "period", "holiday", "reset", "fit":
		l.one(a, a.Text)
	case "lock":
		// Who tells of it need not know the credential.
		l.one(a, strings.Replace(a.Text, "{credential}", ics.Credential, 1))
	default:
		l.unknown("act", deedWords)
	}
}

// one reads a line that is one input.
func (l *line) one(a *Act, text string) {
	if in, ok := l.input(text); ok {
		a.Inputs = []spec.Input{in}
	}
}

func (l *line) fitting(a *Act, name, value string, last int) {
	if l.end(true, last) {
		a.Deed = DoFitting
		a.Fitting = Fitting{Place: a.Place, Name: name, Value: value, Source: Said, Sure: a.Sure}
	}
}

// stat reads that a thermostat was turned: room thermostat 22, room 2 thermostat 22.
func (l *line) stat(a *Act) {
	word, name := 2, l.Word(1)
	if name == "room" && l.Word(2) == "2" {
		word, name = 3, "room-2"
	}
	if l.Word(word) != "thermostat" {
		l.Wrong(word, "write %s thermostat and the degrees to which it was turned", l.Word(1))
		return
	}
	if _, err := Degrees(l.Word(word + 1)); err != nil {
		l.Wrong(word+1, "write the degrees to which it was turned, such as 20.5")
		return
	}
	l.fitting(a, name+"-thermostat", l.Word(word+1), word+1)
}

// setClock reads clock DATE TIME, or clock TIME, which leaves the date to the day on which it was done.
func (l *line) setClock(a *Act) {
	if len(l.Words) != 2 {
		l.one(a, a.Text)
		return
	}
	minute, err := wire.ParseTime(l.Word(2))
	if err != nil || minute >= spec.MinutesPerDay {
		l.Wrong(2, "write what it was set to: clock 07:00, or clock 2026-11-03 07:00 if the date was set too")
		return
	}
	a.Inputs = []spec.Input{{Kind: spec.SetClock, Minute: minute}}
	a.Today = true
}

// cut reads a power cut: from when to when, or when and for how long.
func (l *line) cut(a *Act, item *document.Node) {
	a.Deed = DoCut
	if !l.end(true, 2) {
		return
	}
	if e := item.Get("for"); e != nil {
		hours, minutes, _ := strings.Cut(e.Text, ":")
		h, _ := strconv.ParseInt(hours, 10, 64)
		m, _ := strconv.ParseInt(minutes, 10, 64)
		if a.Seconds = h*calendar.Hour + m*calendar.Minute; a.Seconds == 0 {
			l.Line.FailAt(e, "the cut has no length; say how long it was, such as 00:20")
		}
		return
	}
	form, err := parseWhen(item.Get("when").Text)
	if err == nil && (form.moment || form.part) {
		l.Line.FailAt(item.Get("when"), "a power cut has a length; write from when to when, such as 2026-11-02 14:00-16:30, or say for: 02:30")
	}
	a.Seconds = form.to - form.from
}
