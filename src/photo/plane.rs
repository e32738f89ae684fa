//! TEMP
use super::{Plane, Photo};
impl Photo { 
/// luma
pub fn luma(&self)->Plane{ Plane{width:self.width,height:self.height,data:self.rgb.chunks_exact(3).map(|p|0.299*p[0] as f32+0.587*p[1] as f32+0.114*p[2] as f32).collect()} }
}
impl Plane {
/// g
pub fn gaussian(&self, sigma: f64)->Plane{
 let r=(3.0*sigma).ceil() as usize; let mut k:Vec<f32>=(0..=r).map(|i|(-0.5*(i as f64/sigma).powi(2)).exp() as f32).collect();
 let t:f32=k[0]+2.0*k[1..].iter().sum::<f32>(); k.iter_mut().for_each(|v|*v/=t);
 let (w,h)=(self.width,self.height); let mut tmp=vec![0f32;w*h];
 let mut pad=vec![0f32;w+2*r];
 for y in 0..h { let row=&self.data[y*w..(y+1)*w]; for i in 0..w+2*r { pad[i]=row[(i as i64-r as i64).clamp(0,w as i64-1) as usize]; }
  let o=&mut tmp[y*w..(y+1)*w]; for x in 0..w { o[x]=k[0]*pad[x+r]; }
  for j in 1..=r { let (a,b,c)=(&pad[r-j..r-j+w],&pad[r+j..r+j+w],k[j]); for x in 0..w { o[x]+=c*(a[x]+b[x]); } } }
 let mut out=vec![0f32;w*h];
 for y in 0..h { let o=&mut out[y*w..(y+1)*w]; let m=&tmp[y*w..(y+1)*w]; for x in 0..w { o[x]=k[0]*m[x]; }
  for j in 1..=r { let ya=y.saturating_sub(j); let yb=(y+j).min(h-1); let (a,b,c)=(&tmp[ya*w..ya*w+w],&tmp[yb*w..yb*w+w],k[j]); for x in 0..w { o[x]+=c*(a[x]+b[x]); } } }
 Plane{width:w,height:h,data:out}
}
/// gr
pub fn gradient(&self)->(Plane,Plane){ let (w,h)=(self.width,self.height); let mut a=vec![0f32;w*h]; let mut b=a.clone();
 for y in 0..h { for x in 0..w { let (l,r)=(x.saturating_sub(1),(x+1).min(w-1)); let (u,d)=(y.saturating_sub(1),(y+1).min(h-1)); a[y*w+x]=0.5*(self.data[y*w+r]-self.data[y*w+l]); b[y*w+x]=0.5*(self.data[d*w+x]-self.data[u*w+x]); } }
 (Plane{width:w,height:h,data:a},Plane{width:w,height:h,data:b}) }
/// half
pub fn half(&self)->Plane{ let (w,h)=(self.width/2,self.height/2); let mut d=Vec::with_capacity(w*h); for y in 0..h { for x in 0..w { let o=2*y*self.width+2*x; d.push(0.25*(self.data[o]+self.data[o+1]+self.data[o+self.width]+self.data[o+self.width+1])); } } Plane{width:w,height:h,data:d} }
}
/// TEMP
pub fn decode(bytes:&[u8])->anyhow::Result<Photo>{ use image::ImageDecoder; use sha2::Digest;
 let mut d=image::ImageReader::new(std::io::Cursor::new(bytes)).with_guessed_format()?.into_decoder()?; let o=d.orientation()?; let mut im=image::DynamicImage::from_decoder(d)?; im.apply_orientation(o); let im=im.to_rgb8();
 Ok(Photo{width:im.width() as usize,height:im.height() as usize,rgb:im.into_raw(),hash:sha2::Sha256::digest(bytes).iter().map(|b|format!("{b:02x}")).collect(),taken_at:None,focal_ratio:exif::Reader::new().read_from_container(&mut std::io::Cursor::new(bytes)).ok().and_then(|e|e.get_field(exif::Tag::FocalLengthIn35mmFilm,exif::In::PRIMARY).and_then(|f|f.value.get_uint(0))).map(|f|f as f64/36.0)}) }
