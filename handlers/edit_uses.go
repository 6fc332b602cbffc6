package handlers

import (
	"slices"
	"strconv"

	"faceside/models"
	"faceside/views"
)

// uses is what a step works on.
type uses struct {
	parts      map[models.ID]int // part → quantity
	assemblies []models.ID
}

// usesOf is what a step works on now.
func (e *editing) usesOf(st *models.Step) uses {
	now := uses{parts: map[models.ID]int{}}
	for _, u := range e.snap.PartsOf(st.ID) {
		now.parts[u.PartID] = u.Quantity
	}
	for _, u := range e.snap.AssembliesOf(st.ID) {
		now.assemblies = append(now.assemblies, u.AssemblyID)
	}
	return now
}

// useFields ask what of a piece a step works on, but for the assembly it makes.
// before and of stand around the name of each part and assembly.
func (e *editing) useFields(piece models.ID, now uses, makes models.ID, before, of string) []views.Field {
	var fields []views.Field
	for _, p := range e.snap.Parts {
		if p.PieceID == piece {
			f := number(partField(p.ID), before+p.Name+of, now.parts[p.ID], 0, e.say.say("Of %d.", p.Quantity))
			f.Greatest = strconv.Itoa(p.Quantity)
			fields = append(fields, f)
		}
	}
	for _, a := range e.snap.Assemblies {
		if a.PieceID == piece && a.ID != makes {
			fields = append(fields, views.Field{Name: assemblyField(a.ID), Label: before + a.Name + of, Kind: "check",
				Value: on(slices.Contains(now.assemblies, a.ID))})
		}
	}
	return fields
}

func assemblyField(id models.ID) string { return "assembly." + strconv.FormatInt(id, 10) }

// readUses reads what of a piece a step is to work on.
func (e *editing) readUses(in *reader, piece models.ID) uses {
	said := uses{parts: map[models.ID]int{}}
	for _, p := range e.snap.Parts {
		if p.PieceID != piece {
			continue
		}
		n := in.whole(partField(p.ID))
		if n < 0 || n > p.Quantity {
			in.refuse(partField(p.ID), "There are %d of %s; the step cannot work on %d.", p.Quantity, p.Name, n)
		}
		if n != 0 {
			said.parts[p.ID] = n
		}
	}
	for _, a := range e.snap.Assemblies {
		if a.PieceID == piece && in.check(assemblyField(a.ID)) {
			said.assemblies = append(said.assemblies, a.ID)
		}
	}
	return said
}

// refuseOthers refuses what is of another piece: a step is of one piece.
func (e *editing) refuseOthers(in *reader, piece models.ID) {
	own := e.snap.Piece(piece)
	if own == nil {
		return // refused as the piece that is not there
	}
	for _, p := range e.snap.Parts {
		if n := in.whole(partField(p.ID)); p.PieceID != piece && n != 0 {
			in.refuse(partField(p.ID), "The step is of “%s”; it cannot work on %d of %s, which is of “%s”.", own.Name, n, p.Name, e.snap.Piece(p.PieceID).Name)
		}
	}
	for _, a := range e.snap.Assemblies {
		if a.PieceID != piece && in.check(assemblyField(a.ID)) {
			in.refuse(assemblyField(a.ID), "The step is of “%s”; it cannot work on the assembly %s, which is of “%s”.", own.Name, a.Name, e.snap.Piece(a.PieceID).Name)
		}
	}
}

// usesForm asks what the step works on.
func (e *editing) usesForm(st *models.Step) views.EditForm {
	makes := models.ID(0)
	if st.MakesID != nil {
		makes = *st.MakesID
	}
	form := e.form(st, "uses", e.say.say("Save what it works on"), e.useFields(st.PieceID, e.usesOf(st), makes, "", "")...)
	form.Quiet = true
	return form
}

// makesWords says what a step makes and what that hangs on.
func (e *editing) makesWords(st *models.Step) string {
	if st.MakesID == nil {
		return ""
	}
	a := e.snap.Assembly(*st.MakesID)
	if a == nil {
		return ""
	}
	return e.say.say("It makes: %s. Where no other step makes it too, that is made of what you say here.", a.Name)
}

func readUsesForm(_ *server, e *editing, st *models.Step, in *reader) models.Edit {
	said := e.readUses(in, st.PieceID)
	return models.ChangeUses{StepID: st.ID, Parts: said.parts, Assemblies: said.assemblies}
}
