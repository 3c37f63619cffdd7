package dataset

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const linked = `
name: saltmarsh
resources:
  - name: participants
    path: participants.csv
    schema:
      primaryKey: [participant_id]
      missingValues: ["", "NM"]
      fields:
        - {name: participant_id, type: string}
        - {name: last_contact, type: integer}
        - {name: card, type: string, constraints: {unique: true}}
  - name: episodes
    path: episodes.csv
    heelcohort:
      rules:
        - {name: diagnosis after onset, check: "diagnosed >= onset", message: The diagnosis comes before the onset., fields: [diagnosed]}
        - {name: followed, check: "onset <= participants.last_contact", message: The onset comes after the last contact., severity: warning}
    schema:
      primaryKey: [participant_id, spell]
      uniqueKeys: [[episode_id]]
      foreignKeys:
        - {fields: [participant_id], reference: {resource: participants, fields: [participant_id]}}
      missingValues: ["", "NM"]
      fields:
        - {name: episode_id, type: string}
        - {name: participant_id, type: string}
        - {name: spell, type: integer}
        - {name: onset, type: integer}
        - {name: diagnosed, type: integer}
`

var linkedFiles = map[string][]byte{
	"participants.csv": []byte("participant_id,last_contact,card\n" +
		"SM-0001,400,x\n" +
		"SM-0002,NM,\n" +
		",100,\n" + // line 4: no key
		"SM-0001,50,x\n" + // line 5: key and card a second time
		"SM-0003,60,y\n"),
	"episodes.csv": []byte("episode_id,participant_id,spell,onset,diagnosed\n" +
		"E1,SM-0002,1,12,10\n" + // line 2: diagnosed before onset; last contact missing, so nothing to say
		"E2,SM-0003,1,61,70\n" + // line 3: onset after last contact
		"E2,SM-0003,1,5,\n" + // line 4: both keys a second time; diagnosis missing
		"E4,SM-003,1,5,6\n" + // line 5: no such child
		"E5,SM-0001,one,500,6\n" + // line 6: spell invalid, so its key is passed over; the child is there twice, so no last contact
		"E6,,2,8,9\n"), // line 7: part of the key missing
}

func TestValidate(t *testing.T) {
	d, opened := read(t, linked, linkedFiles)
	wantLocated(t, opened, "type @ line 6, column 3: one")
	found, err := Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	wantLocated(t, found,
		"primary key @ line 4, column 1: ",
		"primary key @ line 5, column 1: SM-0001",
		"unique @ line 5, column 3: x",
		"diagnosis after onset @ line 2, column 5: diagnosed=10, onset=12",
		"followed @ line 3, column 4: onset=61, participants.last_contact=60",
		"unique @ line 4, column 1: E2",
		"primary key @ line 4, column 2: (SM-0003, 1)",
		"foreign key @ line 5, column 2: SM-003",
		"diagnosis after onset @ line 6, column 5: diagnosed=6, onset=500",
		"primary key @ line 7, column 2: ",
	)
	for i, f := range found {
		wantSeverity := Error
		if f.Rule == "followed" {
			wantSeverity = Warning
		}
		if f.Severity != wantSeverity || f.Message == "" || f.Expected == "" {
			t.Errorf("finding %d: %+v", i, f)
		}
	}
	if f := found[1]; !strings.Contains(f.Message, "line 5") || !strings.Contains(f.Message, "line 2") {
		t.Errorf("message %q, want both lines", f.Message)
	}
	if f := found[7]; !strings.HasPrefix(f.Nearest, "SM-000") {
		t.Errorf("nearest %q, want a key that is there", f.Nearest)
	}
	if f := found[3]; f.Message != "The diagnosis comes before the onset." || f.Expected != "diagnosed >= onset" {
		t.Errorf("finding %+v", f)
	}
}

func TestValidateSameOnAnyCores(t *testing.T) {
	var want []Finding
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		d, found := read(t, linked, linkedFiles)
		more, err := Validate(context.Background(), d)
		if err != nil {
			t.Fatal(err)
		}
		found = append(found, more...)
		SortFindings(d, found)
		if want == nil {
			want = found
		} else if diff := cmp.Diff(want, found); diff != "" {
			t.Errorf("%d cores:\n%s", n, diff)
		}
	}
}

func TestValidateBadRule(t *testing.T) {
	d, _ := read(t, linked, linkedFiles)
	d.Table("episodes").Resource.Schema.Rules[0].Check.Value = "diagnosed >= onzet"
	if _, err := Validate(context.Background(), d); err == nil || !strings.Contains(err.Error(), "onzet") {
		t.Errorf("error %v, want one about onzet", err)
	}
}

// Keys that would fall together when written one after the other.
func TestKeysApart(t *testing.T) {
	d, _ := read(t, `
name: keys
resources:
  - name: k
    path: k.csv
    schema:
      primaryKey: [a, b]
      fields: [{name: a, type: string}, {name: b, type: string}]
`, map[string][]byte{"k.csv": []byte("a,b\na_b,c\na,b_c\na b,c\na,b c\n1:x,y\n1,:xy\n")})
	found, err := Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	wantLocated(t, found)
}

// Tens of thousands of unknown keys must not take tens of thousands squared
// steps. The bound is a hundred times what it takes.
func TestManyUnknownKeys(t *testing.T) {
	var participants, episodes strings.Builder
	participants.WriteString("participant_id,last_contact,card\n")
	episodes.WriteString("episode_id,participant_id,spell,onset,diagnosed\n")
	const n = 20_000
	for i := range n {
		fmt.Fprintf(&participants, "SM-%05d,1,\n", i)
		fmt.Fprintf(&episodes, "E%d,XX-%05d,1,1,1\n", i, i)
	}
	d, _ := read(t, linked, map[string][]byte{
		"participants.csv": []byte(participants.String()), "episodes.csv": []byte(episodes.String()),
	})
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	found, err := Validate(ctx, d)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != n {
		t.Fatalf("%d findings, want %d", len(found), n)
	}
	if g := Group(found); len(g) != 1 || g[0].Count != n || len(g[0].First) != firstFindings {
		t.Errorf("groups %+v", g)
	}
}
