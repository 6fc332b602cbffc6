package views

// Field is one question of a form, with what was typed and what is wrong with it.
type Field struct {
	Name     string
	Label    string
	Kind     string // "text", "number", "date", "time", "textarea", "select", "check" or "hidden"
	Value    string // as typed; of a check "on" or ""
	Help     string
	Error    string
	Mode     string // the keyboard a tablet shows: "text", "decimal" or "numeric"
	Least    string // of numbers and dates; the server checks again
	Greatest string
	Options  []Option
	Wide     bool
}

// Option is one answer to a select.
type Option struct {
	Value, Name string
}

// Form is a set of fields that are saved together.
type Form struct {
	ID     string // of the element, so that a browser can go back to it
	Action string
	Title  string
	Notice string // what is wrong with the whole
	Fields []Field
	Save   string // the button
	Open   bool   // shown unfolded
	Try    string // the kind of change that can be tried with these fields, "" for none
}

// Erroneous says whether anything in the form was refused.
func (f Form) Erroneous() bool {
	if f.Notice != "" {
		return true
	}
	for _, field := range f.Fields {
		if field.Error != "" {
			return true
		}
	}
	return false
}
