package wood

import (
	"fmt"
	"math/big"
	"strings"
)

// ParseLength reads a length the way a maker types it: `1 13/16`, `1-13/16"`,
// `4' 2 1/2`, `46mm`, `4.6 cm`, `.75`. A number without a unit is in units
// ("inch" or "mm"; after feet it is inches). The result is exactly what was typed
// and lies between 0 and Greatest; what is not a whole number of nanometres is
// refused with the nearest lengths that are. The error is an *Error and says what
// was typed.
func ParseLength(text, units string) (Length, error) {
	fail := func(why string) (Length, error) {
		return 0, &Error{Field: "length", Value: text, Limit: "0 to 100 m, in whole nanometres",
			Message: fmt.Sprintf("%q is not a length: %s", text, why)}
	}
	if below, ok := strings.CutPrefix(strings.TrimSpace(text), "-"); ok && below != "" && (isDigit(below[0]) || below[0] == '.') {
		return fail("it is less than nothing; write it without the minus")
	}
	tokens, err := lengthTokens(text)
	if err != nil {
		return fail(err.Error())
	}
	if len(tokens) == 0 {
		return fail(`nothing was typed; write for example 46 mm or 1 13/16"`)
	}
	sum := new(big.Rat)
	var last Length // the unit before, which must be larger
	for len(tokens) > 0 {
		var number *big.Rat
		if number, tokens, err = takeNumber(tokens); err != nil {
			return fail(err.Error())
		}
		var unit Length
		if unit, tokens, err = takeUnit(tokens, units, last); err != nil {
			return fail(err.Error())
		}
		if last != 0 && (last != Foot || unit != Inch) {
			return fail("only feet may be followed by inches; write one number and one unit")
		}
		if last = unit; unit == Foot && len(tokens) > 1 && tokens[0] == "-" {
			tokens = tokens[1:] // 4'-2 1/2"
		}
		sum.Add(sum, number.Mul(number, new(big.Rat).SetInt64(int64(unit))))
	}
	if sum.Cmp(new(big.Rat).SetInt64(int64(Greatest))) > 0 {
		return fail("it is longer than 100 m")
	}
	if !sum.IsInt() {
		return fail("it falls between two nanometres and cannot be kept exactly; write " + neighbours(sum))
	}
	return Length(sum.Num().Int64()), nil
}

// neighbours are the 64th of an inch and the thousandth of a millimetre nearest to
// a number of nanometres.
func neighbours(nm *big.Rat) string {
	l := nearest(nm)
	micrometre := Millimetre / 1000
	return fmt.Sprintf("%s or %s", l.Format(Inches, 64), ((l + micrometre/2) / micrometre * micrometre).Exactly(Millimetres))
}

// nearest rounds a number of nanometres within Greatest.
func nearest(r *big.Rat) Length {
	twice := new(big.Int).Mul(r.Num(), big.NewInt(2))
	twice.Add(twice, r.Denom())
	return Length(twice.Div(twice, new(big.Int).Mul(r.Denom(), big.NewInt(2))).Int64())
}

// typed turns what keyboards and word processors make of a length into plain signs.
var typed = strings.NewReplacer(
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"′", "'", "’", "'", "″", `"`, "”", `"`, "''", `"`, "⁄", "/", "–", "-", "\u00a0", " ", "\u202f", " ",
)

// lengthTokens cuts a typed length into numbers, unit words, slashes and hyphens.
func lengthTokens(text string) ([]string, error) {
	if len(text) > 64 {
		return nil, fmt.Errorf("it is longer than 64 signs")
	}
	var out []string
	s := strings.ToLower(strings.TrimSpace(typed.Replace(text)))
	for i := 0; i < len(s); {
		c := s[i]
		j := i + 1
		switch {
		case c == ' ' || c == '\t':
			i++
			continue
		case c == ',':
			return nil, fmt.Errorf("a comma may mean two things; write a point, as in 45.5")
		case isDigit(c):
			for j < len(s) && isDigit(s[j]) {
				j++
			}
		case 'a' <= c && c <= 'z':
			for j < len(s) && 'a' <= s[j] && s[j] <= 'z' {
				j++
			}
			out = append(out, s[i:j])
			if i = j; i < len(s) && s[i] == '.' && (i+1 == len(s) || !isDigit(s[i+1])) {
				i++ // the point of "in." and "ft."
			}
			continue
		case !strings.ContainsRune(`'"/-`, rune(c)):
			return nil, fmt.Errorf("the sign %q has no place in it", []rune(s[i:])[0])
		}
		out = append(out, s[i:j])
		i = j
	}
	return out, nil
}

func isDigit(c byte) bool { return c == '.' || '0' <= c && c <= '9' }

// takeNumber reads "3", ".75", "3/4", "1 13/16" or "1-13/16" off the front.
func takeNumber(tokens []string) (*big.Rat, []string, error) {
	first, rest, err := takeTerm(tokens)
	if err != nil {
		return nil, nil, err
	}
	hyphen := len(rest) > 0 && rest[0] == "-"
	next := rest
	if hyphen {
		next = rest[1:]
	}
	if len(next) < 3 || !isDigit(next[0][0]) || next[1] != "/" {
		if hyphen {
			return nil, nil, fmt.Errorf("after the hyphen a fraction such as 13/16 is missing")
		}
		return first, rest, nil
	}
	if !first.IsInt() {
		return nil, nil, fmt.Errorf("only a whole number may stand before a fraction")
	}
	part, rest, err := takeTerm(next)
	if err != nil {
		return nil, nil, err
	}
	if part.Cmp(big.NewRat(1, 1)) >= 0 {
		return nil, nil, fmt.Errorf("the fraction after a whole number must be less than 1")
	}
	return first.Add(first, part), rest, nil
}

// takeTerm reads one number or one fraction off the front.
func takeTerm(tokens []string) (*big.Rat, []string, error) {
	if len(tokens) == 0 || !isDigit(tokens[0][0]) {
		return nil, nil, fmt.Errorf("a number is missing")
	}
	n, ok := new(big.Rat).SetString(tokens[0])
	if !ok {
		return nil, nil, fmt.Errorf("%s is not a number", tokens[0])
	}
	if len(tokens) < 2 || tokens[1] != "/" {
		return n, tokens[1:], nil
	}
	if len(tokens) < 3 {
		return nil, nil, fmt.Errorf("the number under the fraction's line is missing")
	}
	d, ok := new(big.Rat).SetString(tokens[2])
	if !ok || !n.IsInt() || !d.IsInt() || d.Sign() == 0 {
		return nil, nil, fmt.Errorf("%s/%s is not a fraction", tokens[0], tokens[2])
	}
	return n.Quo(n, d), tokens[3:], nil
}

// takeUnit reads a unit word off the front; where there is none it is the
// shop's, or inches after feet.
func takeUnit(tokens []string, units string, last Length) (Length, []string, error) {
	if len(tokens) == 0 || isDigit(tokens[0][0]) {
		switch {
		case last == Foot || units == Inches:
			return Inch, tokens, nil
		case units == Millimetres:
			return Millimetre, tokens, nil
		}
		return 0, nil, fmt.Errorf("it has no unit; write mm or \"")
	}
	switch tokens[0] {
	case "mm":
		return Millimetre, tokens[1:], nil
	case "cm":
		return 10 * Millimetre, tokens[1:], nil
	case "m":
		return 1000 * Millimetre, tokens[1:], nil
	case `"`, "in", "inch", "inches":
		return Inch, tokens[1:], nil
	case "'", "ft", "foot", "feet":
		return Foot, tokens[1:], nil
	case "-":
		return 0, nil, fmt.Errorf("a hyphen may only stand between a whole number and a fraction")
	}
	return 0, nil, fmt.Errorf("%s is not a unit it knows (mm, cm, m, in, ft)", tokens[0])
}
