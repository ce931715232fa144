package english

import (
	"slices"
	"strings"
	"sync"
)

// A letter rule turns letters into sounds where what stands to the left and
// right fits. In contexts: '_' word edge, '#' one or more vowels letters,
// ':' zero or more consonants, '^' one consonant, '+' one of e i y,
// '%' an ending (e, es, ed, er, ing, ely), '.' a voiced consonant.
type letterRule struct {
	left, graph, right string
	out                string
}

// letterRules, tried in order for the first letter of the graph. Vowels carry
// no stress; stress is placed afterwards. "-" gives no sound.
var letterRules = sync.OnceValue(func() map[byte][]letterRule {
	m := map[byte][]letterRule{}
	for line := range strings.Lines(letterRuleText) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		pat, out, ok := strings.Cut(line, "=")
		l, rest, ok1 := strings.Cut(pat, "[")
		g, r, ok2 := strings.Cut(rest, "]")
		if !ok || !ok1 || !ok2 || g == "" {
			panic("english: letter rule: " + line)
		}
		if out != "-" {
			ph(out)
		}
		m[g[0]] = append(m[g[0]], letterRule{l, g, r, out})
	}
	return m
})

const letterRuleText = `
_[a]_=AX
_[are]_=AA R
_[ar]o=AX R
[augh]t=AO
[aught]=AO T
[augh]=AE F
[ai]r=EH
[air]=EH R
[ai]n_=EY
[ai]=EY
[ay]=EY
[au]=AO
[aw]=AO
[alk]=AO K
[all]=AO L
[al]t=AO L
[alm]=AA M
[alf]=AE F
[al]_=AX L
#:[ally]=AX L IY
_al[a]=AH
#:[al]_=AX L
[ange]=EY N JH
[are]_=EH R
[are]d=EH R
[ar]#=EH R
[arr]=AE R
w[ar]=AO R
#:[ar]_=ER
#:[ard]_=ER D
[ar]=AA R
#:[age]_=IH JH
[able]=EY B AX L
[ation]=EY SH AX N
[a]^%=EY
[a]ste=EY
[a]^^%=AE
[a]^ion=EY
[a]^ious=EY
_:[a]^#=EY
_w[a]tch=AA
w[a]sh=AA
w[a]nt=AA
qu[a]=AA
#:[a]_=AX
[a]_=AX
[ass]=AE S
[a]=AE
_[bb]=B
m[b]_=-
[bb]=B
[b]t_=-
[b]=B
[chr]=K R
[ch]_=CH
s[ch]ool=K
a[che]=K
[ch]=CH
[ck]=K
s[c]+=-
[cc]+=K S
[cc]=K
[ci]a=SH
[ci]o=SH
[ci]en=SH
[c]+=S
[c]=K
[dge]=JH
[dg]=JH
[dd]=D
[du]a=JH UW
[d]=D
[eau]=OW
[ear]ly=ER
[ear]n=ER
[earth]=ER TH
[ear]ch=ER
[ear]=IH R
[ead]_=EH D
[ea]th=EH
[ea]sure=EH
[ea]d=IY
[ea]=IY
[eer]=IH R
[ee]=IY
[eigh]=EY
[ei]gn=EY
c[ei]=IY
[ei]=IY
[ere]_=IH R
[er]#=EH R
[err]=EH R
#:[er]_=ER
[er]=ER
_[eu]=Y UW
[eur]=ER
[eu]=UW
s[ew]=OW
r[ew]=UW
ch[ew]=UW
d[ew]=UW
l[ew]=UW
n[ew]=UW
t[ew]=UW
[ew]=Y UW
[eye]=AY
[ey]_=IY
[ey]=EY
#:[ed]_=D
#:t[ed]_=IH D
#:[es]_=Z
#:[ely]_=L IY
#:[ement]=M EH N T
#:[eful]=F AX L
_:[e]_=IY
#:[e]_=-
'^:[e]_=-
#:^[e]s_=-
[e]^%=IY
_r[e]^#=IH
_d[e]^#=IH
_b[e]^#=IH
_pr[e]^#=IH
_[e]^#=IH
#:[en]_=AX N
#:[el]_=AX L
#:[et]_=AX T
#:[ence]_=AX N S
#:[ent]_=AX N T
[e]=EH
[ff]=F
[f]=F
_[gn]=N
[gn]_=N
[gh]t=-
_[gh]=G
[gh]=-
[gg]=G
[gu]+=G
_[g]et=G
_[g]i^=G
[ge]o=JH
[g]e=JH
[g]i=JH
[g]y=JH
n[g]_=-
[g]=G
_[hon]=AA N
_[h]=HH
#[h]#=HH
^[h]#=HH
[h]=-
_[in]=IH N
_[i]_=AY
[igh]=AY
[ign]=AY N
[ild]_=AY L D
[ind]_=AY N D
[ier]_=IY ER
[ie]t=AY AX
_:[ie]_=AY
_:[ied]_=AY D
_:[ies]_=AY Z
#:[ied]_=IY D
#:[ies]_=IY Z
[ied]=AY D
[ie]ld=IY
[ie]f=IY
[ie]ve=IY
[ien]=IY AX N
[ie]=IY
[io]n=Y AX
[ious]=IY AX S
[ique]=IY K
[ir]#=AY R
[ir]=ER
[ise]_=AY Z
[ize]_=AY Z
[ive]_=IH V
#:[ine]_=IY N
_:[i]^%=AY
#:[i]^e_=IH
[i]^%=AY
[i]a=IY
[i]o=IY
[i]um=IY
[i]ng_=IH
[i]_=IY
[i]=IH
[j]=JH
_[kn]=N
[kk]=K
[k]=K
[lo]c#=L OW
l[l]=-
#:^[le]_=AX L
[l]=L
[mm]=M
[mn]_=M
[m]=M
[nn]=N
[ng]+=N JH
[ng]r=NG G
[ng]#=NG G
[ngl]=NG G L
[ng]=NG
[nk]=NG K
[n]c=NG
[n]qu=NG
[n]x=NG
[n]=N
[oar]=AO R
[oa]=OW
_c[o]m=AH
[oe]_=OW
[oes]_=OW Z
[oi]=OY
[oy]=OY
[olk]=OW K
[old]=OW L D
[olt]=OW L T
[oll]_=OW L
[oor]=AO R
[ook]=UH K
[ood]_=UH D
[oot]_=UW T
[oo]=UW
w[or]=ER
#:[or]_=ER
[orr]=AA R
[or]=AO R
[ough]t=AO
[ought]=AO T
[ough]=OW
[oul]d=UH
[ould]=UH D
[oun]=AW N
[our]=AO R
[ous]_=AX S
[ou]gh=AH
[oup]=UW P
[ouse]=AW S
[ou]=AW
[own]_=OW N
[ow]_=OW
[ow]=AW
#:[on]_=AX N
#:[om]_=AX M
#:[ot]_=AX T
[ost]_=OW S T
[othe]r=AH DH
[o]^%=OW
[o]^en=OW
_:[o]_=OW
[o]_=OW
_:[o]^#=OW
[o]ng=AO
[oss]=AO S
[o]ff=AO
[o]=AA
[ph]=F
[pp]=P
_[ps]=S
_[pn]=N
[p]=P
[qu]e_=K
[que]_=K
[qu]=K W
[q]=K
[rh]=R
[rr]=R
[r]=R
[sch]=SH
[sh]=SH
[ss]ion=SH
[ssi]o=SH
#[si]on=ZH
[si]on=SH
[ssure]=SH ER
#[sure]=ZH ER
#[su]#=ZH UW
[ss]=S
[sth]m=S
[st]le_=S
[st]en_=S
s[s]=-
#:.[s]_=Z
#:#[s]_=S
#:^#[s]_=S
'[s]_=Z
u[s]_=S
[sc]+=S
#[s]m=Z
#[se]_=Z
#[s]#=Z
[s]=S
[tch]=CH
[th]er=DH
[the]_=DH
_[th]en=DH
_[th]is=DH
_[th]ey=DH
[ths]_=TH S
[th]=TH
[ti]on=SH
[ti]a=SH
[ti]ent=SH
[tu]r#=CH
[ture]_=CH ER
[tu]a=CH UW
[tt]=T
s[t]le_=-
[t]=T
[ui]l=IH
fr[ui]=UW
s[ui]=UW
[uy]=AY
g[u]#=-
_[un]=AH N
_[up]=AH P
_[us]#=Y UW S
_[u]^#=Y UW
[urr]=ER
[ur]#=Y UH R
[ur]=ER
[ull]=UH L
[ush]=UH SH
r[u]^%=UW
l[u]^%=UW
j[u]^%=UW
[u]^%=Y UW
r[u]^#=UW
l[u]^#=UW
[u]^#=Y UW
#:[um]_=AX M
#:[us]_=AX S
r[ue]_=UW
l[ue]_=UW
[ue]_=Y UW
[u]_=UW
[u]=AH
[vv]=V
[v]=V
[wh]o=HH
[wh]=W
_[wr]=R
[w]=W
_[x]=Z
[x]c+=K S
_e[x]#=G Z
[x]=K S
_[y]=Y
#:^[y]_=IY
_:[y]_=AY
#:[y]_=IY
_:[y]^#=AY
[y]^%=AY
[y]=IH
[zz]=Z
[z]=Z
`

func isVowelLetter(b byte) bool { return strings.IndexByte("aeiouy", b) >= 0 }
func isConsonantLetter(b byte) bool {
	return b >= 'a' && b <= 'z' && strings.IndexByte("aeiou", b) < 0
}

// fitsOne tells whether a letter is what a sign of a pattern stands for.
func fitsOne(sign, letter byte) bool {
	switch sign {
	case '#':
		return isVowelLetter(letter)
	case ':', '^':
		return isConsonantLetter(letter)
	case '.':
		return strings.IndexByte("bdgvjlmnrwz", letter) >= 0
	case '+':
		return strings.IndexByte("eiy", letter) >= 0
	}
	return letter == sign
}

var endings = []string{"e", "es", "ed", "er", "ers", "ing", "ely", "ements", "ement"}

// fitsRight matches a context pattern forwards from w[i:].
func fitsRight(pat, w string, i int) bool {
	for k := range len(pat) {
		switch sign := pat[k]; {
		case sign == '%':
			return slices.Contains(endings, w[i:])
		case sign == '_':
			if i < len(w) && w[i] != '\'' {
				return false
			}
			continue
		case sign != ':':
			if i >= len(w) || !fitsOne(sign, w[i]) {
				return false
			}
			i++
		}
		if pat[k] == '#' || pat[k] == ':' { // as many as there are
			for i < len(w) && fitsOne(pat[k], w[i]) {
				i++
			}
		}
	}
	return true
}

// fitsLeft matches a context pattern backwards from w[:i].
func fitsLeft(pat, w string, i int) bool {
	for k := len(pat) - 1; k >= 0; k-- {
		switch sign := pat[k]; {
		case sign == '_':
			if i > 0 && w[i-1] != '\'' {
				return false
			}
			continue
		case sign != ':':
			if i <= 0 || !fitsOne(sign, w[i-1]) {
				return false
			}
			i--
		}
		if pat[k] == '#' || pat[k] == ':' {
			for i > 0 && fitsOne(pat[k], w[i-1]) {
				i--
			}
		}
	}
	return true
}

// spell gives the sounds of a lower-case word by rule. It always returns at
// least one sound.
func spell(w string) []Sound {
	out := single(byRule(w))
	if !hasVowel(out) { // "hmm", "tch", "pst"
		return letterByLetter(w)
	}
	stressed(out, stressPlace(w, out))
	return out
}

// byRule gives the sounds of the rules that fit, without stress.
func byRule(w string) (out []Sound) {
	rules := letterRules()
	for i := 0; i < len(w); {
		step := 1
		for _, r := range rules[w[i]] {
			if strings.HasPrefix(w[i:], r.graph) && fitsLeft(r.left, w, i) && fitsRight(r.right, w, i+len(r.graph)) {
				if r.out != "-" {
					out = append(out, ph(r.out)...)
				}
				step = len(r.graph)
				break
			}
		}
		i += step
	}
	return out
}

// single makes one of the same consonant twice.
func single(out []Sound) []Sound {
	keep := out[:0]
	for i, s := range out {
		if i > 0 && s.Phone == out[i-1].Phone && !s.Vowel() {
			continue
		}
		keep = append(keep, s)
	}
	return keep
}

// letterByLetter names the letters.
func letterByLetter(w string) (out []Sound) {
	for i := range len(w) {
		if n, ok := letterNames[w[i]]; ok {
			out = append(out, ph(n)...)
		}
	}
	if len(out) == 0 {
		return ph("AH1")
	}
	return out
}

// stressed puts the stress on vowel number place, and reduces others.
func stressed(out []Sound, place int) {
	n := -1
	for i := range out {
		if !out[i].Vowel() {
			continue
		}
		n++
		s := &out[i]
		s.Stress = 0
		switch s.Phone {
		case "AX":
			if n == place {
				s.Phone = "AH"
			}
		case "AE", "AA", "AH":
			if n != place && n != place-2 {
				s.Phone = "AX"
			}
		case "EH":
			if n < place {
				s.Phone = "IH"
			}
		}
		if n == place {
			s.Stress = 1
		}
	}
}

func hasVowel(s []Sound) bool {
	for _, x := range s {
		if x.Vowel() {
			return true
		}
	}
	return false
}

// stressPlace guesses which vowel of a spelled word is stressed.
func stressPlace(w string, s []Sound) int {
	n := 0
	for _, x := range s {
		if x.Vowel() {
			n++
		}
	}
	has := func(tails ...string) bool {
		for _, t := range tails {
			if strings.HasSuffix(w, t) {
				return true
			}
		}
		return false
	}
	at := 0
	switch {
	case n <= 1:
	case has("tion", "sion", "cian", "tions", "sions", "ic", "ics", "tional"):
		at = n - 2
		if has("tional") {
			at = n - 3
		}
	case has("ity", "ical", "ogy", "graphy", "ian", "ious", "eous"):
		at = n - 3
	case has("eer", "ique", "ette", "ee"):
		at = n - 1
	case n == 2:
		for _, p := range []string{"a", "be", "de", "re", "pre", "ex", "en", "un", "in", "con", "com", "per", "pro", "sur", "mis", "dis", "sub"} {
			if rest, ok := strings.CutPrefix(w, p); ok && len(rest) > 3 && !isVowelLetter(rest[0]) && p != "in" &&
				!has("er", "y", "le", "or", "en", "on", "ow", "al", "ing", "age", "et", "el", "ish", "ent", "it") {
				at = 1
				break
			}
		}
	case n >= 4:
		at = n - 3
	}
	return min(max(at, 0), n-1)
}

var letterNames = map[byte]string{
	'a': "EY1", 'b': "B IY1", 'c': "S IY1", 'd': "D IY1", 'e': "IY1", 'f': "EH1 F", 'g': "JH IY1", 'h': "EY1 CH",
	'i': "AY1", 'j': "JH EY1", 'k': "K EY1", 'l': "EH1 L", 'm': "EH1 M", 'n': "EH1 N", 'o': "OW1", 'p': "P IY1",
	'q': "K Y UW1", 'r': "AA1 R", 's': "EH1 S", 't': "T IY1", 'u': "Y UW1", 'v': "V IY1",
	'w': "D AH1 B AH0 L Y UW2", 'x': "EH1 K S", 'y': "W AY1", 'z': "Z IY1",
}
