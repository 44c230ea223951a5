(function(){
var sheets=document.getElementById('sheets'),told=document.getElementById('told'),wanted=document.getElementById('wanted'),zoom=1,last='',at=-1,hits=[];
function set(value){zoom=Math.min(6,Math.max(1,value));sheets.style.setProperty('--zoom',zoom);}
document.getElementById('nearer').onclick=function(){set(zoom*1.3);};
document.getElementById('farther').onclick=function(){set(zoom/1.3);};
document.getElementById('whole').onclick=function(){set(1);};
function name(element){return element.getAttribute('data-ref')||'';}
function find(text){
var exact=[],near=[],inside=[];
sheets.querySelectorAll('[data-ref]').forEach(function(element){
var id=name(element).split(':').slice(1).join(':').toLowerCase(),title=element.querySelector('title');
var shown=element.tagName==='text'?element.textContent.toLowerCase():'';
if(id===text||shown===text||shown.indexOf(text+', ')===0)exact.push(element);
else if(id.indexOf(text)===0||shown.indexOf(text)>=0)near.push(element);
else if(title&&(' '+title.textContent.toLowerCase()+' ').indexOf(' '+text+' ')>=0)inside.push(element);});
return exact.length?exact:(near.length?near:inside);}
document.getElementById('seek').onsubmit=function(event){
event.preventDefault();
var text=wanted.value.trim().toLowerCase();
sheets.querySelectorAll('.found').forEach(function(element){element.classList.remove('found');});
if(!text){told.textContent='';return;}
if(text!==last){hits=find(text);last=text;at=-1;}
if(!hits.length){told.textContent='Nothing is named so.';return;}
var refs=[];hits.forEach(function(element){if(refs.indexOf(name(element))<0)refs.push(name(element));});
at=(at+1)%refs.length;
var first=null;
hits.forEach(function(element){if(name(element)===refs[at]){element.classList.add('found');first=first||element;}});
first.scrollIntoView({block:'center',inline:'center'});
told.textContent=refs[at].replace(':',' ')+', '+(at+1)+' of '+refs.length+', '+first.closest('figure').querySelector('figcaption').textContent.split(', ').pop();};
})();
