package models_test

import (
	"testing"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// usesOf says what a step works on, by keys.
func usesOf(snap *models.Snapshot, step models.ID) (parts map[string]int, assemblies []string) {
	parts = map[string]int{}
	for _, u := range snap.PartsOf(step) {
		parts[snap.Part(u.PartID).Key] = u.Quantity
	}
	for _, u := range snap.AssembliesOf(step) {
		assemblies = append(assemblies, snap.Assembly(u.AssemblyID).Key)
	}
	return parts, assemblies
}

// inside says what an assembly is made of, by keys.
func inside(snap *models.Snapshot, assembly models.ID) (parts map[string]int, inner []string) {
	parts = map[string]int{}
	for _, u := range snap.AssemblyParts {
		if u.AssemblyID == assembly {
			parts[snap.Part(u.PartID).Key] = u.Quantity
		}
	}
	for _, u := range snap.AssemblyAssemblies {
		if u.AssemblyID == assembly {
			inner = append(inner, snap.Assembly(u.InnerID).Key)
		}
	}
	return parts, inner
}

// named finds the part and assembly numbers of the bench's commission.
func (b *bench) named() (part, assembly map[string]models.ID) {
	part, assembly = map[string]models.ID{}, map[string]models.ID{}
	snap := b.snap()
	for _, p := range snap.Parts {
		part[p.Key] = p.ID
	}
	for _, a := range snap.Assemblies {
		assembly[a.Key] = a.ID
	}
	return part, assembly
}

func TestWhatAStepWorksOnIsChanged(t *testing.T) {
	b := newBench(t)
	part, assembly := b.named()
	before := b.snap()

	trim := b.step("trim")
	snap := b.must(models.ChangeUses{StepID: trim.ID, Parts: map[models.ID]int{part["rail"]: 1}, Assemblies: []models.ID{assembly["panel"]}})
	parts, assemblies := usesOf(snap, trim.ID)
	assert.Equal(t, map[string]int{"rail": 1}, parts)
	assert.Equal(t, []string{"panel"}, assemblies)
	assert.Equal(t, int64(1), snap.Commissions[0].Edition)
	assert.Equal(t, before.AssemblyParts, snap.AssemblyParts, "it makes nothing: what assemblies are made of stays")
	now := testrig.Step(t, snap, "trim")
	assert.Equal(t, trim, now, "all else of the step stays")

	snap = b.must(models.ChangeUses{StepID: trim.ID})
	parts, assemblies = usesOf(snap, trim.ID)
	assert.Empty(t, parts)
	assert.Empty(t, assemblies, "a step may work on nothing: a template is made of something else")
}

func TestAGlueUpMakesItsAssemblyOfWhatItWorksOn(t *testing.T) {
	b := newBench(t)
	part, assembly := b.named()
	glue := b.step("glue-panel")
	snap := b.must(models.ChangeUses{StepID: glue.ID, Parts: map[models.ID]int{part["board"]: 2, part["rail"]: 1}})
	parts, inner := inside(snap, assembly["panel"])
	assert.Equal(t, map[string]int{"board": 2, "rail": 1}, parts)
	assert.Empty(t, inner)

	frame := b.step("glue-frame")
	snap = b.must(models.SplitStep{StepID: frame.ID, Attended: 10, Parts: map[models.ID]int{part["rail"]: 1}, FirstName: "One rail", SecondName: "The other"})
	was, wasInner := inside(snap, assembly["shelf"])
	snap = b.must(models.ChangeUses{StepID: testrig.Step(t, snap, "glue-frame#2").ID, Parts: map[models.ID]int{part["rail"]: 1, part["board"]: 1}})
	parts, inner = inside(snap, assembly["shelf"])
	assert.Equal(t, was, parts, "two steps make it together: what is in it stays")
	assert.Equal(t, wasInner, inner)
}

func TestWhatNoStepCanWorkOnIsRefused(t *testing.T) {
	b := newBench(t)
	part, assembly := b.named()
	testrig.Commission(t, b.store, "Another", "2026-03-20")
	var foreignPart, foreignAssembly models.ID
	for _, p := range b.snap().Parts {
		foreignPart = max(foreignPart, p.ID)
	}
	for _, a := range b.snap().Assemblies {
		foreignAssembly = max(foreignAssembly, a.ID)
	}
	before := b.snap()
	glue, trim := b.step("glue-panel"), b.step("trim")
	for name, c := range map[string]struct {
		edit models.ChangeUses
		says string
		code models.Code
	}{
		"more than there are":    {models.ChangeUses{StepID: trim.ID, Parts: map[models.ID]int{part["rail"]: 3}}, "There are 2 of Rail; the step cannot work on 3.", models.Invalid},
		"none of a part":         {models.ChangeUses{StepID: trim.ID, Parts: map[models.ID]int{part["rail"]: 0}}, "There are 2 of Rail; the step cannot work on 0.", models.Invalid},
		"another piece's part":   {models.ChangeUses{StepID: trim.ID, Parts: map[models.ID]int{foreignPart: 1}}, "There is no part with number", models.NotFound},
		"another's assembly":     {models.ChangeUses{StepID: trim.ID, Assemblies: []models.ID{foreignAssembly}}, "There is no assembly with number", models.NotFound},
		"an assembly twice":      {models.ChangeUses{StepID: trim.ID, Assemblies: []models.ID{assembly["panel"], assembly["panel"]}}, "twice", models.Invalid},
		"its own assembly":       {models.ChangeUses{StepID: glue.ID, Assemblies: []models.ID{assembly["panel"]}}, "cannot be made of itself", models.Invalid},
		"an assembly of nothing": {models.ChangeUses{StepID: glue.ID}, "would be made of nothing", models.Invalid},
		"inside one another":     {models.ChangeUses{StepID: glue.ID, Assemblies: []models.ID{assembly["shelf"]}}, "would be inside one another: “Panel” → “Shelf” → “Panel”.", models.Invalid},
		"no such step":           {models.ChangeUses{StepID: 9999}, "no step with number 9999", models.NotFound},
	} {
		t.Run(name, func(t *testing.T) {
			err := b.edit(c.edit)
			require.ErrorContains(t, err, c.says)
			assert.Equal(t, c.code, models.CodeOf(err))
		})
	}
	after := b.snap()
	assert.Equal(t, before.StepParts, after.StepParts, "nothing of it was saved")
	assert.Equal(t, before.AssemblyParts, after.AssemblyParts)
	assert.Equal(t, before.AssemblyAssemblies, after.AssemblyAssemblies)

	joint := b.step("joint")
	b.tap(models.TapStart, "joint", b.ana)
	err := b.edit(models.ChangeUses{StepID: joint.ID, Parts: map[models.ID]int{part["rail"]: 1}})
	require.ErrorContains(t, err, "only steps that are not begun are changed")
}
